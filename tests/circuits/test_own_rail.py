"""Our own rail: staged first power, pull-ups all closed, the bleeder, and what clamps feed into it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.own_rail import (
    FittedBoard,
    OwnRail,
    judge_absorbed,
    judge_rail,
    pull_up_amps,
    stages,
    total_amps,
)
from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Verdict

CONTROLLER = FittedBoard("controller", Span(0.034, 0.048))
CHAIN = FittedBoard("board 1", Span(0.001, 0.002), pull_ups=64)


def test_pull_ups_of_a_whole_console() -> None:
    """Ex 9: 263 pull-ups of 10 kΩ at 3.3 V draw 86.8 mA with every contact closed."""
    assert round(1e3 * pull_up_amps(263, 3.3, 10e3), 1) == 86.8


def test_pull_ups_of_one_manual() -> None:
    """Ex 6: 0.33 mA for each key, 20.1 mA with all 61 held."""
    assert round(1e3 * pull_up_amps(1, 3.3, 10e3), 2) == 0.33
    assert round(1e3 * pull_up_amps(61, 3.3, 10e3), 1) == 20.1


def test_a_stage_is_said_in_one_sentence() -> None:
    """34 to 48 mA expected, and off above 80 mA: five thirds of the greatest (common practice, no source)."""
    (stage,) = stages(OwnRail(Span(4.5, 5.5), (FittedBoard("board 1", Span(0.034, 0.048)),)))
    assert stage.sentence == "board 1 fitted: expect 34-48 mA; over 80 mA switch off"


def test_stages_build_on_each_other() -> None:
    """Each stage is what was there plus its own board; the bleeder draws from the first."""
    bleeder = Span.around(220, 0.05)
    first, second = stages(OwnRail(Span(3.135, 3.465), (CONTROLLER, CHAIN), bleeder))
    assert first.expected_ma.least == pytest.approx(34 + 3135 / 231)
    assert first.expected_ma.greatest == pytest.approx(48 + 3465 / 209)
    assert second.expected_ma.least == pytest.approx(first.expected_ma.least + 1)
    assert second.expected_ma.greatest == pytest.approx(first.expected_ma.greatest + 2)


def test_the_bleeder_alone_costs_what_was_worked_out() -> None:
    """Ex 3: 220 Ω costs 15 mA on a 3.3 V rail."""
    assert total_amps(OwnRail(Span.exact(3.3), (), Span.exact(220))).least == pytest.approx(0.015)


def test_the_rail_counts_every_pull_up_closed() -> None:
    """The greatest current is at the greatest supply and the least pull-ups; 70 % of the rating may be drawn."""
    rail = OwnRail(Span(4.5, 5.5), (CONTROLLER, CHAIN))
    greatest = 0.048 + 0.002 + 64 * 5.5 / 9500
    assert total_amps(rail).greatest == pytest.approx(greatest)
    assert total_amps(rail).least == pytest.approx(0.035)
    assert judge_rail(rail, greatest / 0.69).verdict is Verdict.GOOD
    assert judge_rail(rail, greatest / 0.71).verdict is Verdict.FAILS
    assert judge_rail(rail, None).verdict is Verdict.UNKNOWN


def test_clamps_must_not_lift_the_rail() -> None:
    """Ex 3: 61 lines of 5.77 µA feed 0.352 mA into the rail, whose own least current must exceed it."""
    injected = 61 * 5.77e-6
    assert round(1e3 * injected, 3) == 0.352
    sleeping = FittedBoard("controller asleep", Span(0.0003, 0.02))
    assert judge_absorbed(OwnRail(Span(3.1, 3.5), (CONTROLLER,)), injected).verdict is Verdict.GOOD
    assert judge_absorbed(OwnRail(Span(3.1, 3.5), (sleeping,)), injected).verdict is Verdict.FAILS
    cured = OwnRail(Span(3.1, 3.5), (sleeping,), Span.around(220, 0.05))
    assert judge_absorbed(cured, injected).verdict is Verdict.GOOD


@given(st.floats(100, 1e5), st.floats(0.1, 10), st.integers(1, 500))
def test_scaling_resistances_scales_currents_inversely(ohms: float, factor: float, count: int) -> None:
    """Pull-ups of so many times the resistance draw as many times less."""
    assert pull_up_amps(count, 5.0, ohms * factor) == pytest.approx(pull_up_amps(count, 5.0, ohms) / factor)


@given(st.floats(0, 0.2), st.floats(0, 0.2))
def test_wider_resistors_never_lower_the_greatest_current(first: float, second: float) -> None:
    """More tolerance never makes the rail's greatest current smaller."""

    def greatest(tolerance: float) -> float:
        board = FittedBoard("board", Span(0.001, 0.002), 64, Span.around(10e3, tolerance))
        return total_amps(OwnRail(Span(4.5, 5.5), (board,))).greatest

    narrow, wide = sorted((first, second))
    assert greatest(wide) >= greatest(narrow)
