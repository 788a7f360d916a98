"""Shoes of 14 bits, noisy, worn and broken ones, and ladders, each from the job to the emulated board."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from retrofit.plan.model import ConversionPlan
from tests.emulator.demos import Console, console
from tests.emulator.harness import CYCLES_PER_US, Event, Seen, Track, run
from tests.emulator.midi_stream import TimedMessage, decode
from tests.plan.jobs import POT, job_of, ladder, shoes

pytestmark = pytest.mark.emulator

FULL_SCALE = 1023
DWELL_MS = 120
PROMPT = "[wanted]\npower_on_wait_s = 0.1\n"
NOISE = 1
SWELL = f'id = "swell", {POT}, noise_counts = {NOISE}, bits = 14'
CHOIR = f'id = "choir", {POT}, noise_counts = 6'
LADDER = ladder('"2k2", "2k2", "2k2", "2k2", "2k2", "2k2"', 'to_supply = "3k3", tolerance = 0.01').replace(
    'id = "swell", sensor = "ladder"', 'id = "steps", sensor = "ladder", style = "selective"'
)
STRING = [2.2 * left / (2.2 * left + 3.3) for left in range(6, -1, -1)]
"""What the ladder reads with no contact closed, with the first, and so on: kilohms of a divider, by hand."""


@cache
def built() -> Console:
    """Return a console of three shoes: one of 14 bits, one of 7 that is noisy, one on a selective ladder."""
    return console(job_of(shoes(SWELL, CHOIR, LADDER, wanted=PROMPT)))


def played(
    moves: dict[str, list[float]], tracks: dict[str, Track] | None = None
) -> tuple[Seen, list[list[TimedMessage]]]:
    """Put shoes to parts of full scale, one position after another; return what was seen, and sent at each position."""
    stage, start_ms = built().stage, built().listening_us / 1000
    events: list[Event] = [
        stage.shoe_event(f"shoes.{name}", (start_ms + turn * DWELL_MS) * 1000, round(part * FULL_SCALE))
        for name, parts in moves.items()
        for turn, part in enumerate(parts)
    ]
    count = max(len(parts) for parts in moves.values())
    rest = {"shoes.swell": 512, "shoes.choir": 512, "shoes.steps": round(STRING[1] * FULL_SCALE)}
    scenario = stage.scenario(built().image.hex, start_ms + count * DWELL_MS, events, shoes=rest)
    worn = {stage.converters[f"shoes.{name}"]: track for name, track in (tracks or {}).items()}
    seen = run(replace(scenario, tracks=worn))
    assert seen.problems == {}
    return seen, by_position(decode(seen.midi).messages, start_ms, count)


def by_position(messages: tuple[TimedMessage, ...], start_ms: float, count: int) -> list[list[TimedMessage]]:
    """Sort messages from `start_ms` on to the positions that were taken every `DWELL_MS`."""
    found: list[list[TimedMessage]] = [[] for _ in range(count)]
    for message in messages:
        if message.begins >= start_ms * 1000 * CYCLES_PER_US:
            found[int((message.begins / CYCLES_PER_US / 1000 - start_ms) // DWELL_MS)].append(message)
    return found


def controllers(messages: list[TimedMessage]) -> list[tuple[int, int]]:
    """Return number and value of control changes."""
    return [(message.data[1], message.data[2]) for message in messages]


def plan() -> ConversionPlan:
    """Return the plan of the console."""
    return built().plan


def number_of(shoe: str) -> int:
    """Return the controller of a shoe."""
    return next(each.shoe.controller for each in plan().points if each.point.id == f"shoes.{shoe}" and each.shoe)


def fine(part: float) -> float:
    """Return the value of 14 bits at a part of full scale: straight between the ends, each with a dead zone of 4 %."""
    low, high = 0.05 + 0.04 * 0.9, 0.95 - 0.04 * 0.9
    return min(1.0, max(0.0, (part - low) / (high - low))) * 16383


def test_fourteen_bits_arrive_as_pairs() -> None:
    """Each position is told as controller 11 and then 43; both ends are 0 and 16383, between them the line is met."""
    parts = [0.05, 0.3, 0.31, 0.7, 0.95]
    _, positions = played({"swell": parts})
    for part, messages in zip(parts, positions, strict=True):
        pair = controllers(messages)[-2:]
        assert [number for number, _ in pair] == [11, 43]
        assert pair[0][1] << 7 | pair[1][1] == pytest.approx(fine(part), abs=16383 / 838 / 2 + 1)


def test_the_lower_half_goes_alone() -> None:
    """Three counts further, within the same upper half, one message says so."""
    _, positions = played({"swell": [0.5, 0.5 + 3 / FULL_SCALE]})
    assert [number for number, _ in controllers(positions[1])] == [43]


def test_noise_as_measured_sends_nothing() -> None:
    """Readings that wander by the noise that the job states, 1 and 6 counts peak to peak, are no movement."""
    tracks = {"swell": Track(noise=NOISE, seed=5), "choir": Track(noise=6, seed=9)}
    seen, positions = played({"swell": [0.4], "choir": [0.6]} | {"steps": [STRING[2]] * 5}, tracks)
    assert seen.conversions > 500
    assert positions[1:] == [[]] * 4


def test_more_noise_than_measured_is_heard() -> None:
    """The same wandering with four times the noise chatters: the comparison above can fail."""
    _, positions = played({"choir": [0.6] * 5}, {"choir": Track(noise=40, seed=9)})
    assert sum(map(len, positions[1:])) > 4


@pytest.mark.parametrize("leap_counts", [1023, 700, 0])
def test_a_worn_track_leaps_unheard(leap_counts: int) -> None:
    """One reading in forty leaps away, beyond the bounds or within them: only true positions are ever sent."""
    parts = [0.2, 0.3, 0.25, 0.35]
    _, positions = played({"choir": parts}, {"choir": Track(leap_every=40, leap_counts=leap_counts, seed=3)})
    choir = number_of("choir")
    values = [value for messages in positions for number, value in controllers(messages) if number == choir]
    by_hand = [round(fine(part) / 129) for part in parts]
    assert values == pytest.approx(by_hand, abs=1)
    assert len(values) == len(parts)


@pytest.mark.parametrize("broken", [0.0, 1.0])
def test_a_broken_wire_keeps_the_last_value(broken: float) -> None:
    """The wiper's wire goes to either end of the converter's range: nothing is sent until it is back."""
    _, positions = played({"choir": [0.4, broken, broken, 0.6]})
    assert [len(messages) for messages in positions] == [1, 0, 0, 1]


def test_a_ladder_tells_its_contacts_and_keeps_between_them() -> None:
    """Break before make: nothing joined between two contacts, which sends nothing; each contact its sixth of 127."""
    moves = [STRING[1], STRING[0], STRING[2], STRING[0], STRING[4], STRING[0], STRING[6]]
    _, positions = played({"steps": moves})
    values = [[value for _, value in controllers(messages)] for messages in positions]
    assert values == [[], [], [42], [], [85], [], [127]]


def test_a_ladder_survives_its_resistors_tolerance() -> None:
    """Each stage still tells itself with every resistor at its own end of 1 %."""
    high, low = ([r * 2.2 * left / (r * 2.2 * left + 3.3 / r) for left in range(6, -1, -1)] for r in (1.01, 0.99))
    for string in (high, low):
        _, positions = played({"steps": [string[6], string[3], string[5], string[2], string[4], string[1]]})
        values = [value for messages in positions for _, value in controllers(messages)]
        assert values == [127, 64, 106, 42, 85, 21]


def test_a_ladder_with_a_broken_line_keeps_its_value() -> None:
    """Full scale lies beyond the string: the line is broken."""
    _, positions = played({"steps": [STRING[3], 1.0, STRING[3], STRING[4]]})
    assert [len(messages) for messages in positions] == [1, 0, 0, 1]


@pytest.mark.parametrize("ends_at", [0.3, 0.62, 0.95])
def test_all_shoes_have_told_their_place_50_ms_after_they_rest(ends_at: float) -> None:
    """Three shoes swept for 300 ms and stopped: within 50 ms the last message of each tells where it stands."""
    stage, start_us = built().stage, built().listening_us
    rest_us = start_us + 300_000
    events = [
        stage.shoe_event(
            f"shoes.{name}", start_us + ms * 1000, round((0.05 + (ends_at - 0.05) * ms / 300) * FULL_SCALE)
        )
        for ms in range(301)
        for name in ("swell", "choir")
    ]
    seen = run(stage.scenario(built().image.hex, rest_us / 1000 + 200, events))
    sent = [message for message in decode(seen.midi).messages if message.begins >= start_us * CYCLES_PER_US]
    last = {message.data[1]: message for message in sent}
    assert max(message.ends for message in last.values()) <= (rest_us + 50_000) * CYCLES_PER_US
    value = last[11].data[2] << 7 | last[43].data[2]
    assert value == pytest.approx(fine(ends_at), abs=2 * 16383 / 838)
    assert last[number_of("choir")].data[2] == pytest.approx(fine(ends_at) / 129, abs=1.5)
