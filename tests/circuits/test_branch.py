"""Wire by gauge, fuses, and branches in which the fuse protects the wire."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.catalogue.wire import COPPER_OHM_MM2_PER_METRE, awg_area_mm2
from retrofit.circuits.branch import choose_branch, drop_volts, fuse_for, judge_branch, judge_return_drop
from retrofit.circuits.sense.design import Verdict
from retrofit.circuits.wire_gauge import FUSE_AMPS, GAUGES, conductor_ohms, wire_limit_amps

OHM_PER_1000_FT = {16: 4.016, 18: 6.385, 20: 10.15, 22: 16.14, 24: 25.67, 26: 40.81, 28: 64.90, 30: 103.2}
"""Solid copper at 20 °C: Floyd, table of American wire gauge; sizes by ASTM B258."""
TABLE_AMPS = {16: 3.7, 18: 2.3, 20: 1.5, 22: 0.92, 24: 0.577, 26: 0.361, 28: 0.226, 30: 0.142}
"""Handbook of Electronic Tables and Formulas, wire in a bundle."""
HANDBOOK_COPPER = 0.0172
"""Rounded resistivity of the worked examples, Ω·mm²/m; IEC 60028 gives 1/58 = 0.01724."""


@pytest.mark.parametrize("gauge", GAUGES)
def test_resistance_agrees_with_the_printed_table(gauge: int) -> None:
    """Every gauge is within 0.1 % of the printed ohms for 1000 ft."""
    per_foot = conductor_ohms(0.3048, awg_area_mm2(gauge))
    assert 1000 * per_foot == pytest.approx(OHM_PER_1000_FT[gauge], rel=1e-3)


@pytest.mark.parametrize("gauge", GAUGES)
def test_what_a_wire_bears_agrees_with_the_printed_table(gauge: int) -> None:
    """700 circular mils for each ampere are the printed amperes within 3 %, the table's own rounding."""
    assert wire_limit_amps(awg_area_mm2(gauge)) == pytest.approx(TABLE_AMPS[gauge], rel=0.03)


def test_the_worked_gauge() -> None:
    """22 AWG bears 0.918 A by the rule (Handbook of Electronic Tables and Formulas prints 0.92)."""
    assert round(wire_limit_amps(awg_area_mm2(22)), 3) == 0.918


def test_warm_copper_resists_more() -> None:
    """40 K above 20 °C add 15.7 % at 0.00393/K (from memory)."""
    assert conductor_ohms(1, 1, 60) / conductor_ohms(1, 1) == pytest.approx(1.1572)


def test_fuses_are_the_series_r10() -> None:
    """ISO 3: the rounded series R10 is 1 1.25 1.6 2 2.5 3.15 4 5 6.3 8; ratings run from 32 mA to 10 A."""
    r10 = (1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8)
    for fuse in FUSE_AMPS:
        decade = next(d for d in (0.01, 0.1, 1, 10) if d <= fuse * (1 + 1e-9) < 10 * d)
        assert round(fuse / decade, 2) in {*r10, 3.2}, fuse
    assert list(FUSE_AMPS) == sorted(FUSE_AMPS)
    assert len(FUSE_AMPS) == 26


def test_the_worked_wires() -> None:
    """Ex 12: 0.22 mm², 3 m out and back, 0.469 Ω, drops 0.205 V at 0.4375 A; 1 mm², 2 m, 0.090 V at 2.625 A.

    The examples round copper to 0.0172 Ω·mm²/m; ours is 0.24 % more.
    """
    ours_to_theirs = HANDBOOK_COPPER / COPPER_OHM_MM2_PER_METRE
    out_and_back = 2 * conductor_ohms(3, 0.22) * ours_to_theirs
    assert round(out_and_back, 3) == 0.469
    assert round(drop_volts(0.4375, out_and_back), 3) == 0.205
    shared = drop_volts(2.625, conductor_ohms(2, 1.0) * ours_to_theirs)
    assert round(shared, 3) == 0.090
    assert round(100 * shared / 3.3, 1) == 2.7


def test_the_worked_shared_return_fails() -> None:
    """Ex 12: magnets in the return of the sensed lines drop more than 2 % of 3.3 V: a return of their own is wanted."""
    assert judge_return_drop(2.625, 2, 1.0, 3.3).verdict is Verdict.FAILS
    assert judge_return_drop(0.1, 2, 1.0, 3.3).verdict is Verdict.GOOD


def test_a_return_is_judged_at_its_warmest() -> None:
    """One ampere in 1 m of 1 mm² drops 1/58 V at 20 °C and 15.7 % more at 60 °C (from memory), in percent of 5 V."""
    judged = judge_return_drop(1.0, 1.0, 1.0, 5.0)
    assert judged.result is not None
    assert judged.result.value == pytest.approx(100 / 58 / 5 * 1.1572)


@pytest.mark.parametrize(("length", "area", "said"), [(None, 1.0, "length"), (2.0, None, "copper area")])
def test_an_unmeasured_return_is_unknown(length: float | None, area: float | None, said: str) -> None:
    """Without length or area there is no drop to judge."""
    judged = judge_return_drop(1.0, length, area, 5.0)
    assert judged.verdict is Verdict.UNKNOWN
    assert said in judged.missing


def test_a_fuse_is_loaded_to_three_quarters_at_most() -> None:
    """75 mA want 100 mA, a little more wants 125 mA, and beyond 7.5 A there is none."""
    assert fuse_for(0.075) == 0.100
    assert fuse_for(0.0751) == 0.125
    assert fuse_for(7.5) == 10.0
    assert fuse_for(7.6) is None


@given(st.floats(0.001, 9), st.floats(0.1, 20))
def test_currents_stay_below_the_fuse_and_the_fuse_below_the_wire(amps: float, length_m: float) -> None:
    """Every branch that is chosen keeps currents ≤ fuse ≤ wire limit and the drop, and no thinner wire would."""
    branch = choose_branch(amps, length_m, 5.0)
    if branch is None:
        thick = fuse_for(amps)
        assert thick is None or any(
            j.verdict is Verdict.FAILS for j in judge_branch(amps, length_m, awg_area_mm2(16), 5.0, thick).judged
        )
        return
    assert branch.gauge is not None
    assert amps <= 0.75 * branch.fuse_amps
    assert branch.fuse_amps <= wire_limit_amps(branch.area_mm2)
    assert all(judged.verdict is Verdict.GOOD for judged in branch.judged)
    thinner = [gauge for gauge in GAUGES if gauge > branch.gauge]
    if thinner:
        judged = judge_branch(amps, length_m, awg_area_mm2(thinner[0]), 5.0, branch.fuse_amps).judged
        assert any(figure.verdict is Verdict.FAILS for figure in judged)


def test_a_branch_of_unknown_length_says_so() -> None:
    """The wire is then the thinnest that the fuse protects, and the drop stays unknown."""
    branch = choose_branch(0.1, None, 5.0)
    assert branch is not None
    assert branch.gauge == 28
    assert [judged.verdict for judged in branch.judged] == [Verdict.GOOD, Verdict.GOOD, Verdict.UNKNOWN]


def test_a_fuse_above_the_wire_is_refused() -> None:
    """A 5 A fuse before 0.2 mm² does not protect it, whatever flows."""
    branch = judge_branch(0.1, 1.0, 0.2, 5.0, 5.0)
    assert [judged.verdict for judged in branch.judged] == [Verdict.GOOD, Verdict.FAILS, Verdict.GOOD]
