"""Shoes on the converter: values of 14 bits, broken wires, noise, ends, and the last position sent in time."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.firmware.build import CORE
from tests.firmware.console import Console, build_console
from tests.firmware.table_text import ConsoleTable

COARSE, FINE, SLOW = 0, 1, 2
"""Shoes of the table, on the converter channels of the same number."""
POINTS = ((100, 400, 900), (0, 5000, 16383))
HYSTERESIS = 4
LOWEST, HIGHEST = 60, 940
TICK_US = 500
INTERVAL_TICKS = 20
LAST_WITHIN_TICKS = 50_000 // TICK_US
NONE = 0xFFFF


def shoe(channel: int, fine: int, values: tuple[int, ...], lowest: int = 0, highest: int = 1023) -> tuple[object, ...]:
    """A row of the shoe table: a shoe on a converter channel that sends controller 16 and up on channel 1."""
    return (0, channel, 0xB0, 16 + channel, fine, 0, 0, HYSTERESIS, lowest, highest, 3, POINTS[0], values)


def converter_table() -> ConsoleTable:
    """Three shoes: one of 7 bits, one of 14 bits with bounds, and one more so that each is read in turn."""
    shoes = [shoe(COARSE, 0, (0, 40, 127)), shoe(FINE, 1, POINTS[1], LOWEST, HIGHEST), shoe(SLOW, 0, (127, 40, 0))]
    return ConsoleTable(shoes=shoes, sizes={"TICK_US": TICK_US, "SHOE_INTERVAL_TICKS": INTERVAL_TICKS})


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """The console of `converter_table`, compiled once."""
    return build_console(tmp_path_factory.mktemp("converter"), converter_table())


@pytest.fixture
def console(built: Console) -> Console:
    """The console past its start, every shoe within its travel."""
    built.switch_on()
    built.counts[COARSE], built.counts[FINE], built.counts[SLOW] = 500, 500, 500
    built.run(200)
    built.take()
    return built


def sent(console: Console, controllers: tuple[int, ...]) -> list[tuple[int, int]]:
    """Number and value of the control changes sent since the last call, of these controllers."""
    return [(number, value) for status, number, value in console.messages() if status == 0xB0 and number in controllers]


def moved(console: Console, channel: int, counts: int, controllers: tuple[int, ...]) -> list[tuple[int, int]]:
    """Put a shoe at `counts`; return what it sent."""
    console.counts[channel] = counts
    console.run(150)
    return sent(console, controllers)


PAIR = (16 + FINE, 48 + FINE)


def fine_value(counts: int) -> int:
    """The value of 14 bits nearest to the line between the curve's points (numpy.interp)."""
    return int(np.floor(np.interp(counts, *POINTS) + 0.5))


@pytest.mark.parametrize("counts", [100, 137, 399, 401, 640, 899, 900])
def test_fourteen_bits_go_out_as_upper_then_lower_half(console: Console, counts: int) -> None:
    """MIDI 1.0: the upper 7 bits as controller n, then the lower 7 bits as n + 32; together the value of the curve."""
    value = fine_value(counts)
    assert moved(console, FINE, counts, PAIR) == [(PAIR[0], value >> 7), (PAIR[1], value & 0x7F)]


def test_the_lower_half_goes_alone_while_the_upper_stays(console: Console) -> None:
    """MIDI 1.0: a receiver keeps the upper half, so that a small movement sends one message."""
    moved(console, FINE, 900, PAIR)
    moved(console, FINE, 501, PAIR)
    upper, lower = fine_value(506) >> 7, fine_value(506) & 0x7F
    assert upper == fine_value(501) >> 7
    assert moved(console, FINE, 506, PAIR) == [(PAIR[1], lower)]


def test_a_newer_value_never_mixes_with_the_half_of_an_older_one(console: Console) -> None:
    """Over a fast sweep each pair is one value that the curve really gave."""
    real = {fine_value(counts) for counts in range(1024)}
    messages = []
    for counts in range(100, 900, 3):
        console.counts[FINE] = counts
        console.run(2)
        messages += sent(console, PAIR)
    upper, heard = None, []
    for number, value in messages:
        upper = value if number == PAIR[0] else upper
        heard += [] if number == PAIR[0] or upper is None else [upper << 7 | value]
    assert len(heard) > 15
    assert set(heard) <= real
    assert heard == sorted(heard)


def test_replaced_values_are_counted(console: Console) -> None:
    """While the interval runs, newer values take the place of waiting ones, and each that was never sent counts."""
    before = console.values_replaced
    moved(console, COARSE, 500, ())
    assert console.values_replaced == before
    for counts in range(200, 800, 10):
        console.counts[COARSE] = counts
        console.run(14)
    replaced, heard = console.values_replaced - before, len(sent(console, (16,)))
    assert heard + replaced == pytest.approx(60, abs=2)
    assert replaced > 10


@pytest.mark.parametrize(("counts", "broken"), [(59, 1), (60, 0), (940, 0), (941, 1), (0, 1), (1023, 1)])
def test_a_reading_beyond_the_bounds_keeps_the_last_value(console: Console, counts: int, broken: int) -> None:
    """Beyond its bounds a shoe sends nothing and is counted; at the bounds it is at an end of its travel."""
    assert bool(moved(console, FINE, counts, PAIR)) is not bool(broken)
    assert (console.shoe_faults, console.shoe_is_broken(FINE)) == (broken, broken)


def test_each_break_is_counted_once_and_mends(console: Console) -> None:
    """A wire that comes and goes counts once each time that it goes; when it is back the shoe is followed again."""
    for _ in range(3):
        assert moved(console, FINE, 1023, PAIR) == []
        assert moved(console, FINE, 500, PAIR) == []
    assert console.shoe_faults == 3
    assert moved(console, FINE, 700, PAIR)[0] == (PAIR[0], fine_value(700) >> 7)


def test_a_shoe_without_bounds_is_never_broken(console: Console) -> None:
    """Where nothing tells a break from a position, no fault is claimed."""
    moved(console, COARSE, 0, ())
    moved(console, COARSE, 1023, ())
    assert (console.shoe_faults, console.shoe_is_broken(COARSE)) == (0, 0)


def test_the_ends_of_the_travel_are_captured(console: Console) -> None:
    """From the call on the least and the greatest reading are kept, those of broken wires as well."""
    assert console.shoe_reading(FINE) == 500
    console.shoe_ends_begin(FINE)
    assert console.shoe_ends(FINE) == (NONE, 0)
    for counts in (500, 333, 871, 400):
        moved(console, FINE, counts, ())
    assert console.shoe_ends(FINE) == (333, 871)
    assert console.shoe_reading(FINE) == 400


def test_every_value_is_said_again_on_request(console: Console) -> None:
    """Asked for its state, each shoe sends its value with both halves."""
    moved(console, FINE, 500, PAIR)
    console.shoes_repeat()
    console.run(100)
    value = fine_value(500)
    assert sent(console, PAIR) == [(PAIR[0], value >> 7), (PAIR[1], value & 0x7F)]


def test_noise_within_the_hysteresis_is_not_heard(console: Console) -> None:
    """Readings that wander by no more than the hysteresis send nothing after the first."""
    chance = random.Random(3)
    moved(console, FINE, 500, PAIR)
    wandering = [moved(console, FINE, 500 + chance.randint(-HYSTERESIS, HYSTERESIS), PAIR) for _ in range(40)]
    assert wandering == [[]] * 40


def test_a_single_leap_is_not_believed(console: Console) -> None:
    """Where a track is worn, one reading lies far off: nothing is sent, and the shoe is followed afterwards."""
    moved(console, COARSE, 500, ())
    for off in (900, 100, 640):
        console.run_until_read(COARSE)
        console.counts[COARSE] = off
        console.run_until_read(COARSE)
        console.counts[COARSE] = 500
        console.run(150)
        assert sent(console, (16,)) == []
    assert moved(console, COARSE, 900, (16,)) == [(16, 127)]


@pytest.mark.parametrize(("by", "believed"), [(128, True), (129, False)])
def test_a_leap_is_more_than_an_eighth_of_full_scale(console: Console, by: int, believed: bool) -> None:
    """A movement of 128 of 1024 counts is believed at its first reading, one more at its second."""
    moved(console, COARSE, 500, ())
    console.run_until_read(COARSE)
    console.counts[COARSE] = 500 + by
    console.run_until_read(COARSE)
    console.counts[COARSE] = 500
    console.run(150)
    assert bool(sent(console, (16,))) is believed


CURVES = {COARSE: (0, 40, 127), FINE: POINTS[1], SLOW: (127, 40, 0)}
ALL = (16 + COARSE, *PAIR, 16 + SLOW)


def stands_at(told: dict[int, int], channel: int, counts: int) -> bool:
    """Whether what a shoe told last is its value at a reading."""
    value = int(np.floor(np.interp(counts, POINTS[0], CURVES[channel]) + 0.5))
    if channel == FINE:
        return (told[PAIR[0]], told[PAIR[1]]) == (value >> 7, value & 0x7F)
    return told[16 + channel] == value


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(path=st.lists(st.tuples(st.integers(80, 920), st.integers(1, 40)), min_size=1, max_size=12))
def test_the_last_position_is_always_sent_within_50_ms(console: Console, path: list[tuple[int, int]]) -> None:
    """However all shoes move, 50 ms after they rest each has told where it stands, to its hysteresis; then silence."""
    console.switch_on()
    told: dict[int, int] = {}
    for counts, ticks in [(500, 200), *path]:
        console.counts[COARSE], console.counts[FINE], console.counts[SLOW] = counts, counts, counts
        console.run(ticks)
        told |= dict(sent(console, ALL))
    console.run(LAST_WITHIN_TICKS)
    told |= dict(sent(console, ALL))
    rest = path[-1][0]
    near = range(rest - HYSTERESIS, rest + HYSTERESIS + 1)
    assert [any(stands_at(told, channel, counts) for counts in near) for channel in CURVES] == [True] * 3
    console.run(2000)
    assert sent(console, ALL) == []


def patched(folder: Path, file: str, right: str, wrong: str) -> Path:
    """A folder with one file of the core, `right` replaced by `wrong`."""
    source = (CORE / file).read_text(encoding="utf-8")
    assert source.count(right) == 1
    (folder / file).write_text(source.replace(right, wrong), encoding="utf-8")
    return folder


def test_a_core_that_believes_the_first_conversion_is_caught(tmp_path: Path) -> None:
    """The converter still shows half of the channel before: shoes that rest at different places then send nonsense."""
    wrong = patched(tmp_path, "converter.c", "    settling = 1;\n    if", "    settling = 0;\n    if")
    broken = build_console(tmp_path, converter_table(), patched=wrong)
    broken.counts[COARSE], broken.counts[FINE], broken.counts[SLOW] = 200, 500, 800
    broken.run(400)
    told = dict(sent(broken, ALL))
    assert [stands_at(told, channel, at) for channel, at in ((COARSE, 200), (FINE, 500), (SLOW, 800))] != [True] * 3
