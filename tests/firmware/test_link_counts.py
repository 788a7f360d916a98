"""What the board counts and measures of itself, as it is told over the link."""

from __future__ import annotations

import ctypes
import struct
from pathlib import Path

import pytest

from tests.firmware.console import Console
from tests.firmware.linked import LinkedConsole, build_linked, counters
from tests.firmware.table_text import ConsoleTable, chain_of_keys


@pytest.fixture
def linked(sample: Console) -> LinkedConsole:
    """The sample console past its start, and silent."""
    sample.ports[0] = 0x0F
    sample.run(400)
    sample.take()
    return LinkedConsole(sample)


def test_what_is_counted_is_told(linked: LinkedConsole) -> None:
    """Counts of the parts that this console has are known, and read as the core has them."""
    linked.number("host_watchdog_restarts", ctypes.c_uint16).value = 4
    linked.number("events_overflowed", ctypes.c_uint16).value = 300
    linked.number("midi_in_broken", ctypes.c_uint16).value = 65535
    linked.number("shoe_values_replaced", ctypes.c_uint16).value = 7
    linked.number("converter_faults", ctypes.c_uint16).value = 2
    linked.give(b"\x07noise\x00")
    found = counters(linked)
    assert found == {
        "MOST_NOTES": 0, "MOST_PISTONS": 0, "MOST_STOPS": 0, "OVERFLOWED": 300, "SHOES_REPLACED": 7,
        "WATCHDOG_RESTARTS": 4, "BAD_FRAMES": 1, "MIDI_IN_ERRORS": 65535, "STORE_WRITES": 0, "SHOE_FAULTS": 2,
        "CHATTERS": 0,
    }  # fmt: skip


def test_a_count_of_every_part_is_in_its_place(tmp_path: Path) -> None:
    """A console with expanders knows the counts of their bus, and tells each by its own number."""
    table = chain_of_keys(1, 8, LINK=1, MIDI_USB=1)
    linked = build_linked(tmp_path, ConsoleTable(**{**vars(table), "expanders": [0x20]}))
    for name, value in (("expander_failures", 11), ("expander_late_rounds", 12), ("outlets_usb_refused", 13)):
        linked.number(name, ctypes.c_uint16).value = value
    linked.number("chatter_contact", ctypes.c_uint16).value = 5
    found = counters(linked)
    assert found["BUS_LATE"] == 12
    assert found["USB_REFUSED"] == 13
    assert found["CHATTERER"] == 5
    assert found["BUS_FAILURES"] >= 11
    assert "STORE_WRITES" not in found


def test_the_fullest_queues_are_remembered(linked: LinkedConsole) -> None:
    """While the wire stands still, what waits is counted queue by queue; the first key has gone to the wire itself."""
    console = linked.console
    console.hold_wire(True)
    for level in (0xFE, 0xFC, 0xF8, 0xF0, 0xE0):
        console.registers[0] = console.registers[4] = level
        console.run(12)
    waiting = counters(linked)
    assert (waiting["MOST_NOTES"], waiting["MOST_STOPS"], waiting["MOST_PISTONS"]) == (4, 5, 0)
    console.hold_wire(False)
    console.run(2000)
    drained = counters(linked)
    assert drained == waiting


def test_the_most_is_right_round_the_end_of_a_queue(linked: LinkedConsole) -> None:
    """A queue of 64 entries that is full, wherever its oldest entry stands, counts 64."""
    console = linked.console
    for turn in range(90):
        console.registers[0] = 0xFF if turn % 2 else 0x00
        console.run(200)
    console.hold_wire(True)
    for turn in range(40):
        console.registers[0] = console.registers[1] = 0xFF if turn % 2 else 0x00
        console.run(6)
    assert counters(linked)["MOST_NOTES"] == 64


def pace(linked: LinkedConsole) -> tuple[int, ...]:
    """Counts in 1 us, tick in us, late, least, most, scans, sum."""
    return struct.unpack("<BHHHHII", linked.ask("PACE"))


def test_the_pace_is_measured_tick_by_tick(linked: LinkedConsole) -> None:
    """Least, most, sum and number of the busy times; one that reaches into the next tick is late."""
    counts = linked.number("host_tick_counts", ctypes.c_uint16)
    counts.value = 90
    linked.ask("PACE_ANEW")
    busy = (120, 80, 499, 500, 510)
    for counts.value in busy:
        linked.console.run(1)
    counts.value = 90
    per_us, tick_us, late, least, most, scans, total = pace(linked)
    assert (per_us, tick_us) == (2, 250)
    assert (late, least, most) == (2, 80, 510)
    assert total == sum(busy) + 90 * (scans - len(busy))
    assert len(busy) < scans < len(busy) + 2 * 80


def test_the_mean_pace_outlasts_a_long_run(linked: LinkedConsole) -> None:
    """When the sum grows large, sum and number are halved together, so that the mean stays."""
    linked.number("host_tick_counts", ctypes.c_uint16).value = 65535
    linked.ask("PACE_ANEW")
    for _ in range(33_000):
        linked.core.pace_tick()
    *_, scans, total = pace(linked)
    assert scans < 20_000, "2^31 / 65535 is 32,768: the numbers have been halved once"
    assert total < 2**31
    assert total / scans == pytest.approx(65535, rel=0.01)
