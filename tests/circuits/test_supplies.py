"""What may be taken from an old supply: sag, fuse, rectifier, headroom."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import Judged, Verdict
from retrofit.circuits.supplies import (
    OrganSupply,
    headroom,
    judge_fuse,
    judge_rating,
    judge_rectifier,
    judge_sag,
    sag_volts,
    volts_at,
)
from retrofit.circuits.supply_fit import SupplyFit, SupplyReading, fit_supply

FIT = fit_supply([SupplyReading(Span.exact(13.8), Span.exact(0.4)), SupplyReading(Span.exact(11.9), Span.exact(3.2))])
OLD = OrganSupply(full_volts=11.9, full_amps=3.2, fit=FIT, fuse_amps=5.0)


def _known(judged: Judged) -> Result:
    assert judged.result is not None
    return judged.result


def test_one_division_of_couplers_on_the_worked_supply() -> None:
    """Ex 13: 0.132 A more sag by 0.0895 V, 0.75 % of 11.9 V, and load a 5 A fuse to 66.6 %; both pass."""
    added = 61 * 9.65 / 4465
    assert round(sag_volts(added, FIT.likely_ohms), 4) == 0.0895
    sag, fuse = judge_sag(OLD, added), judge_fuse(OLD, added)
    assert round(_known(sag).value, 2) == 0.75
    assert round(_known(fuse).value, 1) == 66.6
    assert sag.verdict is fuse.verdict is Verdict.GOOD


def test_every_line_by_coupler_on_the_worked_supply() -> None:
    """Ex 13: 263 of 2.161 mA are 568 mA; sag 0.385 V, 3.2 %, and fuse 75.4 %: both fail.

    The example rounds to 568 mA before it multiplies; unrounded the sag is 0.386 V.
    """
    added = 263 * 2.161e-3
    assert round(added, 3) == 0.568
    assert round(sag_volts(0.568, FIT.likely_ohms), 3) == 0.385
    assert round(sag_volts(added, FIT.likely_ohms), 3) == 0.386
    sag, fuse = judge_sag(OLD, added), judge_fuse(OLD, added)
    assert round(_known(sag).value, 1) == 3.2
    assert round(_known(fuse).value, 1) == 75.4
    assert sag.verdict is fuse.verdict is Verdict.FAILS


def test_the_worked_headroom() -> None:
    """Ex 13: one percent of sag leaves 175 mA, less than the 550 mA that the fuse leaves."""
    found = headroom(OLD)
    assert found is not None
    assert round(1e3 * found.amps) == 175
    assert found.limited_by == "the sag of the supply"
    assert found.unknown == ("the rectifier",)
    fuse_alone = headroom(replace(OLD, fit=None))
    assert fuse_alone is not None
    assert fuse_alone.amps == pytest.approx(0.75 * 5 - 3.2)


@given(st.floats(0, 3))
def test_headroom_is_where_the_judgements_turn(added: float) -> None:
    """Up to the headroom every judged figure passes, beyond it one fails."""
    supply = replace(OLD, rectifier_amps=4.0)
    found = headroom(supply)
    assert found is not None
    judged = (judge_sag(supply, added), judge_fuse(supply, added), judge_rectifier(supply, added))
    failing = [figure for figure in judged if figure.verdict is Verdict.FAILS]
    assert bool(failing) == (added > found.amps * (1 + 1e-12)) or added == pytest.approx(found.amps)


def test_an_overloaded_fuse_leaves_nothing() -> None:
    """An organ that loads its fuse beyond the share by itself leaves 0 A, not less."""
    found = headroom(replace(OLD, fuse_amps=4.0))
    assert found is not None
    assert found.amps == 0
    assert found.limited_by == "the fuse"


def test_a_stiff_supply_has_no_limit_of_sag() -> None:
    """A source resistance of nothing sags by nothing, whatever is added."""
    stiff = SupplyFit(Span.exact(12.0), Span.exact(0.0), 12.0, 0.0)
    found = headroom(OrganSupply(12.0, None, stiff))
    assert found is not None
    assert found.amps == inf


@pytest.mark.parametrize(
    ("judged", "missing"),
    [
        (judge_sag(replace(OLD, fit=None), 0.1), "two currents"),
        (judge_fuse(replace(OLD, fuse_amps=None), 0.1), "the rating of the fuse"),
        (judge_fuse(replace(OLD, full_amps=None), 0.1), "the organ's current with everything on"),
        (judge_rectifier(OLD, 0.1), "the rating of the rectifier"),
        (judge_rectifier(replace(OLD, full_amps=None, rectifier_amps=5), 0.1), "the organ's current"),
        (judge_rating(0.1, None), "the rating of the supply"),
    ],
)
def test_what_is_unknown_stays_unknown(judged: Judged, missing: str) -> None:
    """Nothing is judged on a figure that was never read; the words say which."""
    assert judged.verdict is Verdict.UNKNOWN
    assert missing in judged.missing


def test_nothing_known_gives_no_headroom() -> None:
    """A supply of which nothing is known has no headroom to speak of."""
    assert headroom(OrganSupply(12.0, None, None)) is None


def test_the_rectifier_is_narrow_before_it_fails() -> None:
    """Up to 70 % of the rating is good, up to all of it narrow, beyond it fails (common practice, no source)."""
    verdicts = [judge_rectifier(replace(OLD, rectifier_amps=rating), 0.0).verdict for rating in (5.0, 4.0, 3.0)]
    assert verdicts == [Verdict.GOOD, Verdict.NARROW, Verdict.FAILS]


def test_volts_at_a_current_pass_through_the_readings() -> None:
    """The fitted supply gives back what was read, and less beyond it."""
    for amps, volts in ((0.4, 13.8), (3.2, 11.9)):
        assert volts_at(FIT, amps).least == pytest.approx(volts) == pytest.approx(volts_at(FIT, amps).greatest)
    assert volts_at(FIT, 4.0).greatest < 11.9


@given(st.floats(0.01, 1), st.floats(0, 0.02), st.floats(0, 0.02))
def test_a_worse_meter_never_improves_the_sag(added: float, first: float, second: float) -> None:
    """More error in the readings never makes the judged sag smaller."""

    def sag(error: float) -> float:
        readings = [(13.8, 0.4), (11.9, 3.2)]
        fit = fit_supply([SupplyReading(Span.around(v, error), Span.around(i, error)) for v, i in readings])
        return _known(judge_sag(replace(OLD, fit=fit), added)).value

    sharp, blunt = sorted((first, second))
    assert sag(blunt) >= sag(sharp) - 1e-9


def test_the_sag_is_judged_at_the_greatest_resistance() -> None:
    """What the readings leave possible decides, not the likeliest line."""
    wide = SupplyFit(Span(13, 15), Span(0.5, 0.9), 14.0, 0.7)
    result = _known(judge_sag(replace(OLD, fit=wide), 0.1))
    assert result.value == pytest.approx(100 * 0.1 * 0.9 / 11.9)
    assert "source 900 mΩ" in result.corner


@given(st.floats(0, 1), st.floats(0, 1))
def test_sags_add_up(first: float, second: float) -> None:
    """Superposition: what two loads do together is the sum of what each does alone."""
    together = sag_volts(first + second, 0.679)
    assert together == pytest.approx(sag_volts(first, 0.679) + sag_volts(second, 0.679))
