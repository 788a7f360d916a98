"""The source resistance of an old supply from readings, with the meter's error kept."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.stats import linregress

from retrofit.circuits.result import Span
from retrofit.circuits.supply_fit import SupplyReading, SupplyReadingsError, fit_supply, source_ohms


def _exact(volts: float, amps: float) -> SupplyReading:
    return SupplyReading(Span.exact(volts), Span.exact(amps))


def _read(volts: float, amps: float, error: float) -> SupplyReading:
    return SupplyReading(Span.around(volts, error), Span.around(amps, error))


def test_the_worked_old_supply() -> None:
    """Ex 13: 13.8 V at 0.4 A and 11.9 V at 3.2 A give 0.679 Ω and an open voltage of 14.07 V."""
    assert round(source_ohms(13.8, 0.4, 11.9, 3.2), 3) == 0.679
    fit = fit_supply([_exact(13.8, 0.4), _exact(11.9, 3.2)])
    assert (round(fit.likely_ohms, 3), round(fit.likely_open_volts, 2)) == (0.679, 14.07)
    assert fit.ohms.least == pytest.approx(fit.ohms.greatest) == pytest.approx(fit.likely_ohms)
    assert fit.open_volts.least == pytest.approx(fit.open_volts.greatest) == pytest.approx(fit.likely_open_volts)


def _boxes(error: float) -> list[SupplyReading]:
    return [_read(13.8, 0.4, error), _read(12.9, 1.7, error), _read(11.9, 3.2, error)]


def test_three_readings_agree_with_a_linear_programme() -> None:
    """scipy's linprog, given the same half planes, finds the same least and greatest open voltage and resistance."""
    readings = _boxes(0.01)
    rows, limits = [], []
    for reading in readings:
        rows += [[-1.0, reading.amps.least], [1.0, -reading.amps.greatest]]
        limits += [-reading.volts.least, reading.volts.greatest]
    fit = fit_supply(readings)
    found = (fit.open_volts.least, fit.open_volts.greatest, fit.ohms.least, fit.ohms.greatest)
    for value, aim in zip(found, ([1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]), strict=True):
        solved = linprog(aim, A_ub=rows, b_ub=limits, bounds=[(None, None), (0, None)])
        assert value == pytest.approx(abs(solved.fun), rel=1e-6)


def test_the_likely_line_is_that_of_least_squares() -> None:
    """scipy's linregress through the middles gives the same line."""
    fit = fit_supply(_boxes(0.01))
    line = linregress([0.4, 1.7, 3.2], [13.8, 12.9, 11.9])
    assert fit.likely_ohms == pytest.approx(-line.slope)
    assert fit.likely_open_volts == pytest.approx(line.intercept)


supplies = st.tuples(st.floats(5, 40), st.floats(0.05, 3), st.floats(0.1, 0.8), st.floats(1.0, 3.0))


@given(supplies, st.floats(0.001, 0.03), st.lists(st.floats(-1, 1), min_size=4, max_size=4))
def test_the_truth_is_never_shut_out(
    supply: tuple[float, float, float, float], error: float, misread: list[float]
) -> None:
    """Whatever a meter shows within its error, the true resistance and open voltage stay within what is reported."""
    open_volts, ohms, light, heavy = supply
    assume(open_volts - heavy * ohms > 1)
    shown = [
        (value * (1 + error * off))
        for value, off in zip(
            (open_volts - light * ohms, light, open_volts - heavy * ohms, heavy), misread, strict=True
        )
    ]
    spans = [Span(value / (1 + error), value / (1 - error)) for value in shown]
    fit = fit_supply([SupplyReading(spans[0], spans[1]), SupplyReading(spans[2], spans[3])])
    assert fit.ohms.least <= ohms * (1 + 1e-9)
    assert ohms <= fit.ohms.greatest * (1 + 1e-9)
    assert fit.open_volts.least <= open_volts * (1 + 1e-9)
    assert open_volts <= fit.open_volts.greatest * (1 + 1e-9)


@given(st.floats(0, 0.01), st.floats(0, 0.01))
def test_a_worse_meter_never_says_more(first: float, second: float) -> None:
    """More error of the meter never narrows what is reported."""
    sharp, blunt = (fit_supply([_read(13.8, 0.4, e), _read(11.9, 3.2, e)]) for e in sorted((first, second)))
    assert blunt.ohms.least <= sharp.ohms.least + 1e-9
    assert blunt.ohms.greatest >= sharp.ohms.greatest - 1e-9
    assert blunt.open_volts.least <= sharp.open_volts.least + 1e-9
    assert blunt.open_volts.greatest >= sharp.open_volts.greatest - 1e-9


def test_a_third_reading_never_widens() -> None:
    """Two readings leave more possible than the same two with a third."""
    two, three = fit_supply([_boxes(0.01)[0], _boxes(0.01)[2]]), fit_supply(_boxes(0.01))
    assert two.ohms.least <= three.ohms.least <= three.ohms.greatest <= two.ohms.greatest


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ([], "0 readings"),
        ([(13.8, 0.4)], "1 readings"),
        ([(13.8, 0.4), (13.7, 0.4)], "do not differ"),
        ([(13.8, 0.4), (-11.9, 3.2)], "without their sign"),
        ([(13.8, -0.4), (11.9, 3.2)], "0 A or more"),
        ([(13.8, 0.4), (13.79, 1.7), (11.9, 3.2)], "no straight line"),
        ([(11.9, 0.4), (13.8, 3.2)], "no straight line"),
    ],
)
def test_readings_that_say_nothing_are_refused(readings: list[tuple[float, float]], said: str) -> None:
    """Too few, too near, of the wrong sign, bent, or rising with the load: refused in words, never a typical value."""
    with pytest.raises(SupplyReadingsError, match=said):
        fit_supply([_exact(*reading) for reading in readings])


def test_order_does_not_matter() -> None:
    """The readings may come in any order."""
    found = [fit_supply(order).ohms for order in permutations(_boxes(0.01))]
    least, greatest = ([getattr(span, end) for span in found] for end in ("least", "greatest"))
    assert max(least) == pytest.approx(min(least))
    assert max(greatest) == pytest.approx(min(greatest))
