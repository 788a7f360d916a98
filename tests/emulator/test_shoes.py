"""Shoes and the crescendo roller: ends reached, values true, no chatter, rate kept, the final position always sent."""

from __future__ import annotations

from itertools import pairwise

import pytest

from tests.emulator.demos import demo
from tests.emulator.harness import CYCLES_PER_US, Event, cycles, run
from tests.emulator.midi_stream import TimedMessage, decode

pytestmark = pytest.mark.emulator

FULL_SCALE = 1023
DWELL_MS = 150
INTERVAL_MS = 10


def move(name: str, shoe: str, readings: list[float], controller: str, rest: float = 0.0) -> list[list[TimedMessage]]:
    """Put a shoe to fractions of the converter's full scale, one after another, and return what each brought.

    Before that it reads `rest`; 0 is a wire that is off.
    """
    console = demo(name)
    start_ms = console.listening_us / 1000
    events: list[Event] = [
        console.stage.shoe_event(shoe, (start_ms + turn * DWELL_MS) * 1000, round(reading * FULL_SCALE))
        for turn, reading in enumerate(readings)
    ]
    until_ms = start_ms + len(readings) * DWELL_MS
    at_rest = {shoe: round(rest * FULL_SCALE)}
    seen = run(console.stage.scenario(console.image.hex, until_ms, events, shoes=at_rest))
    assert seen.problems == {}
    return by_position(decode(seen.midi).messages, start_ms, len(readings), controller)


def by_position(
    messages: tuple[TimedMessage, ...], start_ms: float, positions: int, controller: str
) -> list[list[TimedMessage]]:
    """Sort messages from `start_ms` on to the positions that were taken every `DWELL_MS`; no other may be heard."""
    found: list[list[TimedMessage]] = [[] for _ in range(positions)]
    for message in messages:
        if message.begins >= start_ms * 1000 * CYCLES_PER_US:
            assert message.data[:2] == bytes.fromhex(controller)
            found[int((message.begins / CYCLES_PER_US / 1000 - start_ms) // DWELL_MS)].append(message)
    return found


def test_a_potentiometer_reaches_both_ends_and_the_middle() -> None:
    """Measured 0.06 shut and 0.91 open: both ends are reached before the stops, the middle of the travel is 64."""
    travel = (0.0, 0.02, 0.5, 0.98, 1.0, 0.25, 0.0)
    positions = move("gutted_home", "shoe.swell", [0.06 + 0.85 * part for part in travel], "B3 0B", rest=0.06)
    ends = [messages[-1].data[2] if messages else None for messages in positions]
    assert [ends[0], ends[1], ends[4]] == [None, None, None]
    assert ends[2] == pytest.approx(64, abs=1)
    assert (ends[3], ends[6]) == (127, 0)
    assert ends[5] == pytest.approx(30, abs=3)


def test_a_light_dependent_resistor_follows_its_measured_curve() -> None:
    """Reversed and bent as measured: at each measured point the shoe sends the value that was written beside it."""
    positions = move("theatre", "shoes.solo", [0.93, 0.71, 0.46, 0.29, 0.18, 0.71], "B7 10")
    values = [messages[-1].data[2] for messages in positions]
    assert values == pytest.approx([0, 32, 64, 96, 127, 32], abs=1)


def test_a_restless_reading_sends_nothing() -> None:
    """Noise of one count up and down around a position is not a movement."""
    middle = round(0.485 * FULL_SCALE)
    noise = [(middle + turn % 3 - 1) / FULL_SCALE for turn in range(12)]
    positions = move("gutted_home", "shoe.swell", [middle / FULL_SCALE, *noise], "B3 0B")
    assert len(positions[0]) >= 1
    assert positions[1:] == [[] for _ in noise]


def test_a_sweep_keeps_the_rate_and_ends_where_the_shoe_stands() -> None:
    """Swept from shut to open in 300 ms, values only rise, come no faster than every 10 ms, and the last is the end."""
    console = demo("gutted_home")
    start_us = console.listening_us
    events = [
        console.stage.shoe_event("shoe.swell", start_us + ms * 1000, round((0.06 + 0.85 * ms / 300) * FULL_SCALE))
        for ms in range(301)
    ]
    seen = run(console.stage.scenario(console.image.hex, start_us / 1000 + 500, events))
    sent = [m for m in decode(seen.midi).messages if m.begins >= start_us * CYCLES_PER_US]
    values = [message.data[2] for message in sent]
    assert values == sorted(set(values))
    assert values[-1] == 127
    assert 15 <= len(values) <= 32
    apart = [later.begins - sooner.begins for sooner, later in pairwise(sent)]
    assert min(apart) >= cycles(ms=INTERVAL_MS - 1)


@pytest.mark.parametrize("broken", [(), (7,)], ids=["all contacts", "one dead contact"])
def test_the_crescendo_counts_its_stages(broken: tuple[int, ...]) -> None:
    """Stage k of 24 sends k x 127 / 24, rounded; one dead contact among the lower ones does not matter."""
    console = demo("theatre")
    start_ms = console.listening_us / 1000
    events = [
        event
        for turn, stage in enumerate(stage for stage in range(1, 25) if stage not in broken)
        for event in console.stage.events(f"crescendo.{stage}", [((start_ms + turn * DWELL_MS) * 1000, True)])
    ]
    seen = run(console.stage.scenario(console.image.hex, start_ms + 24 * DWELL_MS, events))
    positions = by_position(decode(seen.midi).messages, start_ms, 24, "B7 11")
    values = [message.data[2] for messages in positions for message in messages]
    assert values[-1] == 127
    assert values == sorted(values)
    by_hand = [5, 11, 16, 21, 26, 32, 37, 42, 48, 53, 58, 64, 69, 74, 79, 85, 90, 95, 101, 106, 111, 116, 122, 127]
    assert values == ([value for value in by_hand if not (broken and value == 37)])
