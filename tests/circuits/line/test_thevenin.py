"""The source behind a line, against a nodal solver, printed figures and sources that are no resistors."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.circuits.line.evidence import LOAD_OHMS, Evidence, Taken, meter_error_volts
from retrofit.circuits.line.thevenin import fit_source, loaded_volts, loading_share
from retrofit.survey.readings import Load, State
from tests.circuits.line.nodes import RETURN, Feed, Resistor, node_volts

METER = 10e6


def read(shows: Callable[[float], float], loads: list[Load], noise: list[float] | None = None) -> Evidence:
    """Return the readings of an idle line that shows `shows(ohms to return)`, with the meter alone and with loads.

    A share of `noise` is an error of the reading, not of the truth, as meters are specified.
    """
    errors = noise or [0.0] * 4
    taken = []
    for load, share in zip([Load.METER, *loads], errors, strict=False):
        ohms = METER if load is Load.METER else 1 / (1 / METER + 1 / LOAD_OHMS[load])
        volts = shows(ohms) / (1 + share)
        taken.append(Taken(State.IDLE, load, volts, meter_error_volts(volts, 0.0)))
    return Evidence(tuple(taken), meter_ohms=METER)


def solved(volts: float, source_ohms: float) -> Callable[[float], float]:
    """Return what a source behind a resistance shows under a load, from the nodal solver."""
    return lambda ohms: node_volts([Feed("line", volts, 0.0, source_ohms), Resistor("line", RETURN, ohms)], "line")


def test_the_printed_figures_of_a_meter_and_a_heavy_load() -> None:
    """470 kΩ reads 4.5 % low on 10 MΩ, and 10 kΩ pulls -15 V behind 22 kΩ to -4.7 V (arithmetic: both dividers)."""
    assert f"{100 * loading_share(470e3, 10e6):.1f}" == "4.5"
    assert f"{loaded_volts(-15.0, 22e3, 10e3):.1f}" == "-4.7"
    assert solved(10.0, 470e3)(10e6) == pytest.approx(10.0 * (1 - loading_share(470e3, 10e6)), rel=1e-4)
    assert solved(-15.0, 22e3)(10e3) == pytest.approx(loaded_volts(-15.0, 22e3, 10e3), rel=1e-4)


@settings(max_examples=60, deadline=None)
@given(
    st.floats(1.0, 30.0),
    st.sampled_from([-1.0, 1.0]),
    st.floats(100.0, 470e3),
    st.lists(st.floats(-0.00999, 0.00999), min_size=4, max_size=4),
)
def test_the_true_source_lies_within_what_is_said(volts: float, sign: float, ohms: float, noise: list[float]) -> None:
    """Whatever a meter of 1 % shows, the volts and resistance that the solver was given are inside, and linear."""
    source = fit_source(read(solved(sign * volts, ohms), list(LOAD_OHMS), noise), State.IDLE)

    assert source is not None
    assert source.ohms is not None
    assert source.linear is True
    assert source.volts.least <= sign * volts <= source.volts.greatest
    assert source.ohms.least <= ohms <= source.ohms.greatest


def test_the_meters_own_load_is_corrected() -> None:
    """Behind 470 kΩ the meter alone shows 11.46 V of 12 V; with 1 MΩ beside it the 12 V come out again."""
    evidence = read(solved(12.0, 470e3), [Load.MEGOHM])
    source = fit_source(evidence, State.IDLE)

    assert source is not None
    assert evidence.volts(State.IDLE) == pytest.approx(11.461, abs=1e-3)
    assert source.volts.least < 12.0 < source.volts.greatest
    assert source.volts.least > 11.461


def test_two_loads_that_disagree_are_said_and_never_averaged() -> None:
    """A current source of 0.1 mA held at 10 V is stiff under 100 kΩ and gives way under 10 kΩ."""
    source = fit_source(read(lambda ohms: min(10.0, 1e-4 * ohms), list(LOAD_OHMS)), State.IDLE)

    assert source is not None
    assert source.linear is False
    assert source.ohms is None
    assert "lamp, diode or transistor" in source.remark


def test_the_meter_alone_tells_no_resistance() -> None:
    """Without a load the volts stand as they were read, and it is said that they are not corrected."""
    source = fit_source(read(solved(12.0, 470e3), []), State.IDLE)

    assert source is not None
    assert source.ohms is None
    assert source.linear is None
    assert "not corrected" in source.remark


def test_a_line_without_volts_tells_no_resistance() -> None:
    """Loads to return cannot find what stands behind nothing."""
    source = fit_source(read(lambda _: 0.0, [Load.MEGOHM]), State.IDLE)

    assert source is not None
    assert source.ohms is None
    assert fit_source(Evidence(), State.IDLE) is None


def test_a_stiff_line_has_an_upper_limit_and_no_lower_one() -> None:
    """1 Ω cannot be read with 10 kΩ; what can be said is that it is below some hundreds of ohms."""
    source = fit_source(read(solved(12.0, 1.0), list(LOAD_OHMS)), State.IDLE)

    assert source is not None
    assert source.ohms is not None
    assert source.ohms.least == 0.0
    assert 1.0 < source.ohms.greatest < 500.0


def test_an_answer_that_a_load_took_down_to_nothing_has_no_upper_limit() -> None:
    """A floating line falls to 0 V under 1 MΩ: its resistance may be anything above megohms."""
    source = fit_source(read(lambda ohms: 5.0 if ohms > 5e6 else 0.0, [Load.MEGOHM]), State.IDLE)

    assert source is not None
    assert source.ohms is None or source.ohms.greatest == float("inf")
