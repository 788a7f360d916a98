"""Bursts up to what a debounce guarantees, where nothing may show, and just past it, where the predicted fault must."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from random import Random

import pytest

from retrofit.plan.model import GroupPlan
from retrofit.survey.wishes import DebounceFamily
from tests.emulator.bounce import Burst, Edge, dropout
from tests.emulator.demos import DEMOS, Console, prompt_demo, prompt_plan
from tests.emulator.playing import Performance, perform, playable, sampling_slack_us
from tests.emulator.proof import Fault, Verdict

pytestmark = pytest.mark.emulator

MOST_POINTS = 24
APART_US = 2500.0
COUNTING = (DebounceFamily.CONSECUTIVE, DebounceFamily.ASYMMETRIC, DebounceFamily.INTEGRATOR)


def groups_of(*families: DebounceFamily) -> list[tuple[str, str]]:
    """Return (demo, group) for each group of contacts with one of these debounce families."""
    return [
        (name, group)
        for name in DEMOS
        for group, plan in {each.id: each for each in playable(prompt_plan(name)).values()}.items()
        if plan.debounce is not None and plan.debounce.family in families
    ]


def play_strokes(
    console: Console, group_id: str, stroke: Callable[[float], Iterable[Burst]], disturb: Iterable[Edge] = ()
) -> Verdict:
    """Play one stroke on up to 24 points of a group, each at its own random phase to the scan."""
    rng = Random(group_id)
    played = Performance(end_us=console.listening_us)
    points = [point for point, group in playable(console.plan).items() if group.id == group_id][:MOST_POINTS]
    for turn, point in enumerate(points):
        start_us = console.listening_us + turn * APART_US * 4 + rng.random() * APART_US
        for burst in stroke(start_us):
            played.add(console.stage, point, burst)
        played.disturb(console.stage, point, [(start_us + time, state) for time, state in disturb])
    played.end_us += 200_000
    return perform(console, played)[1]


def faults(verdict: Verdict) -> dict[str, list[Fault]]:
    """Return what was found for each point, in order of time."""
    found: dict[str, list[Fault]] = {}
    for violation in verdict.violations:
        found.setdefault(violation.subject, []).append(violation.fault)
    return found


def group_plan(name: str, group_id: str) -> GroupPlan:
    """Return a group of a demo's plan."""
    return next(group for group in prompt_plan(name).groups if group.id == group_id)


def slack_us(name: str, group: GroupPlan) -> float:
    """Return how far from a guarantee's edge a group's samples may be off."""
    return sampling_slack_us(prompt_plan(name), group)


def open_late(start_us: float, until_us: float, period_us: float) -> Burst:
    """Return a press whose contact opens again for two periods, to settle at `until_us` after its first edge."""
    return Burst(
        ((start_us, True), (start_us + until_us - 2 * period_us, False), (start_us + until_us, True)),
    )


@pytest.mark.parametrize(("name", "group_id"), groups_of(DebounceFamily.FIRST_EDGE))
def test_first_edge_holds_up_to_its_hold_off(name: str, group_id: str) -> None:
    """A bounce as long as the hold-off, open for its last two periods, is one press; nothing else is heard."""
    group = group_plan(name, group_id)
    assert group.debounce is not None
    hold_us = group.debounce.hold * group.period_us
    verdict = play_strokes(
        prompt_demo(name), group_id, lambda start: [open_late(start, hold_us - slack_us(name, group), group.period_us)]
    )
    assert verdict.sound, verdict.report()
    assert verdict.messages == verdict.changes > 0


@pytest.mark.parametrize(("name", "group_id"), groups_of(DebounceFamily.FIRST_EDGE))
def test_first_edge_past_its_hold_off_strikes_twice(name: str, group_id: str) -> None:
    """A contact still open when the hold-off ends gives a release and a second press, as is predicted for B > H."""
    group = group_plan(name, group_id)
    assert group.debounce is not None
    longer_us = (group.debounce.hold + 1) * group.period_us + slack_us(name, group)
    verdict = play_strokes(prompt_demo(name), group_id, lambda start: [open_late(start, longer_us, group.period_us)])
    assert verdict.changes > 0
    assert set(map(tuple, faults(verdict).values())) == {(Fault.EXTRA, Fault.DOUBLED)}
    assert len(faults(verdict)) == verdict.changes


@pytest.mark.parametrize(("name", "group_id"), groups_of(*COUNTING))
def test_a_dropout_shorter_than_the_count_is_never_heard(name: str, group_id: str) -> None:
    """While a point is on, gaps below (N - 1) T at any phase do not break it, with N the count for release."""
    group = group_plan(name, group_id)
    assert group.debounce is not None
    shorter_us = (group.debounce.release - 1) * group.period_us - slack_us(name, group)
    verdict = play_strokes(
        prompt_demo(name),
        group_id,
        lambda start: [Burst(((start, True),))],
        disturb=[edge for turn in (1, 2, 3, 4) for edge in dropout(turn * (80_000.0 + 333.3), shorter_us, True)],
    )
    assert verdict.sound, verdict.report()
    assert verdict.messages == verdict.changes > 0


@pytest.mark.parametrize(("name", "group_id"), groups_of(*COUNTING))
def test_a_dropout_as_long_as_the_count_breaks_the_note(name: str, group_id: str) -> None:
    """A gap of N T holds N samples at any phase: off is sent, and on again after it."""
    group = group_plan(name, group_id)
    assert group.debounce is not None
    longer_us = group.debounce.release * group.period_us + slack_us(name, group)
    verdict = play_strokes(
        prompt_demo(name), group_id, lambda start: [Burst(((start, True),))], disturb=dropout(80_000.0, longer_us, True)
    )
    assert verdict.changes > 0
    assert set(map(tuple, faults(verdict).values())) == {(Fault.EXTRA, Fault.DOUBLED)}
    assert len(faults(verdict)) == verdict.changes


@pytest.mark.parametrize(("name", "group_id"), groups_of(*COUNTING))
def test_a_spike_shorter_than_the_count_sounds_nothing(name: str, group_id: str) -> None:
    """On an idle line pulses below (N - 1) T at any phase are not heard, with N the count for press."""
    group = group_plan(name, group_id)
    assert group.debounce is not None
    shorter_us = (group.debounce.press - 1) * group.period_us - slack_us(name, group)
    verdict = play_strokes(
        prompt_demo(name),
        group_id,
        lambda start: [Burst(((start + 500_000, True),))],
        disturb=[edge for turn in (1, 2, 3, 4) for edge in dropout(turn * (80_000.0 + 333.3), shorter_us, False)],
    )
    assert verdict.sound, verdict.report()
    assert verdict.messages == verdict.changes > 0
