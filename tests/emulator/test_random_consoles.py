"""Consoles drawn by chance, which took no part in calibrating the firmware's costs, against their own plans."""

from __future__ import annotations

from functools import cache
from random import Random

import pytest

from tests.emulator.demos import Console, console
from tests.emulator.playing import clean_strokes, last_points, perform, play_everything, playable
from tests.emulator.quiet import quiet_scans, tick_times
from tests.emulator.random_jobs import random_job

pytestmark = pytest.mark.emulator

SEEDS = (101, 102, 103, 104)


@cache
def drawn(seed: int) -> Console:
    """Return the console drawn from a seed."""
    return console(random_job(seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_every_point_of_a_drawn_console_is_heard(seed: int) -> None:
    """Each press and release brings its message in time and nothing else is heard, whatever the console's shape."""
    seen, verdict = perform(drawn(seed), play_everything(drawn(seed), Random(seed)))
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages == 2 * len(playable(drawn(seed).plan)) > 0
    assert seen.problems == {}


@pytest.mark.parametrize("seed", SEEDS)
def test_the_latency_of_a_drawn_console_is_the_predicted_one(seed: int) -> None:
    """The worst of many phases never lies above the prediction, and reaches at least 80 % of it."""
    plan = drawn(seed).plan
    _, verdict = perform(drawn(seed), clean_strokes(drawn(seed), Random(seed), last_points(plan), 30))
    assert verdict.sound, verdict.report()
    for group in {group.id: group for group in playable(plan).values()}.values():
        worst_us = max(verdict.latencies[group.id].press_us)
        assert 0.8 * group.press_latency_us_max <= worst_us <= group.press_latency_us_max


@pytest.mark.parametrize("seed", SEEDS)
def test_the_busy_time_of_a_drawn_console_is_the_predicted_one(seed: int) -> None:
    """The longest tick takes what the plan says, within 5 %; so does every set of due groups, or within 1 µs."""
    measured, predicted = tick_times(drawn(seed).plan, quiet_scans(drawn(seed)))
    assert predicted == pytest.approx(measured, rel=0.05, abs=1)
    assert drawn(seed).plan.busy_us == pytest.approx(max(measured.values()), rel=0.05)
