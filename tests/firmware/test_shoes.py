"""Shoes: the curve, its ends and its hysteresis, the rate on the wire, and stepped shoes."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tests.firmware.console import Console

POINTS = ((100, 500, 900), (0, 32, 127))
"""The curve of the sample's shoe 0: counts and values."""

INTERVAL_TICKS = 40


@pytest.fixture
def playing(sample: Console) -> Console:
    """The sample console past its start."""
    sample.ports[0] = 0x0F
    sample.run(400)
    sample.take()
    return sample


def move_to(console: Console, counts: int) -> list[int]:
    """Put the potentiometer at `counts`; return the values sent."""
    console.counts[9] = counts
    console.run(200)
    return [value for status, number, value in console.messages() if (status, number) == (0xB0, 11)]


@pytest.mark.parametrize("counts", [0, 99, 100, 101, 106, 113, 300, 499, 500, 501, 700, 899, 900, 1023])
def test_the_curve_is_followed_and_flat_outside(playing: Console, counts: int) -> None:
    """A value is the nearest to the straight line between the points (numpy.interp), and flat beyond the ends."""
    away = 1023 if counts < 500 else 0
    move_to(playing, away)
    assert move_to(playing, counts)[-1:] == [int(np.floor(np.interp(counts, *POINTS) + 0.5))]


def test_both_ends_are_reached_by_the_smallest_steps(playing: Console) -> None:
    """Creeping by one count, less than the hysteresis, still ends at 127 and at 0."""
    values = [value for counts in range(860, 905) for value in move_to(playing, counts)]
    assert values[-1] == 127
    values = [value for counts in range(130, 95, -1) for value in move_to(playing, counts)]
    assert values[-1] == 0


def test_noise_within_the_hysteresis_sends_nothing(playing: Console) -> None:
    """Readings that stay within 3 counts of the last one accepted are not heard; the fourth count is."""
    move_to(playing, 600)
    assert [move_to(playing, 600 + noise) for noise in (3, -3, 2, -1, 3)] == [[]] * 5
    assert len(move_to(playing, 604)) == 1


def test_noise_about_an_end_does_not_chatter(playing: Console) -> None:
    """At the edge of the flat end, noise sends the end's value once and then nothing."""
    move_to(playing, 905)
    assert [move_to(playing, counts) for counts in (899, 900, 898, 901, 899)] == [[]] * 5


def test_a_sweep_is_limited_in_rate_and_its_end_is_sent(playing: Console) -> None:
    """While the shoe runs through its travel, messages are an interval apart at least, and the last value is sent."""
    moments = []
    for tick in range(2000):
        playing.counts[9] = min(1000, tick)
        playing.run()
        moments += [(tick, value) for status, number, value in playing.messages() if number == 11]
    gaps = [later - earlier for (earlier, _), (later, _) in itertools.pairwise(moments)]
    assert min(gaps) >= INTERVAL_TICKS
    assert moments[-1][1] == 127
    assert len(moments) > 15


def stages(console: Console, register: int, on: set[int], controller: int) -> list[int]:
    """Close exactly these stages (from 1); return the values sent."""
    console.registers[register] = 0xFF & ~sum(1 << (stage - 1) for stage in on)
    console.run(200)
    return [value for status, number, value in console.messages() if (status, number) == (0xB1, controller)]


def step(k: int, n: int) -> int:
    """Value of step k of n, to the nearest."""
    return round(k * 127 / n + 1e-9)


@pytest.mark.parametrize("k", range(1, 7))
def test_progressive_stages_count_up(playing: Console, k: int) -> None:
    """Stages 1 to k closed give step k of 6."""
    assert stages(playing, 5, set(range(1, k + 1)), 16) == [step(k, 6)]


@pytest.mark.parametrize(
    ("on", "k"),
    [
        ({1, 2, 4}, 4),  # stage 3 dirty
        ({2, 3}, 3),  # stage 1 dirty
        ({1, 2, 3, 6}, 3),  # two missing below 6
        ({6}, 0),  # five missing below
        ({2}, 2),
    ],
)
def test_one_dirty_stage_changes_nothing(playing: Console, on: set[int], k: int) -> None:
    """The step is the highest stage that is on and lacks at most one stage below it."""
    stages(playing, 5, {1, 2, 3, 4, 5, 6}, 16)
    assert stages(playing, 5, on, 16) == [step(k, 6)]


def test_selective_stages_take_the_highest_and_keep_it_when_all_are_open(playing: Console) -> None:
    """Between two contacts that break before they make, the last value stays."""
    assert stages(playing, 6, {2}, 17) == [step(2, 4)]
    assert stages(playing, 6, set(), 17) == []
    assert stages(playing, 6, {3}, 17) == [step(3, 4)]
    assert stages(playing, 6, {3, 4}, 17) == [step(4, 4)]


def test_a_selective_shoe_that_was_never_read_is_not_sent(sample: Console) -> None:
    """With no stage closed since power-on the value is unknown, and nothing is sent for it."""
    sample.ports[0] = 0x0F
    sample.run(600)
    assert not [m for m in sample.messages() if m[:2] == (0xB1, 17)]


def test_stages_themselves_send_no_messages(playing: Console) -> None:
    """A stage is no key: it changes its shoe's value and sends nothing of its own."""
    playing.registers[5] = 0xFF & ~0x07
    playing.run(200)
    assert playing.messages() == [(0xB1, 16, step(3, 6))]
