"""What may wait, against the rings of the firmware."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from retrofit.midi.messages import control_change, note_on
from retrofit.timing.queues import RING_SLOTS, note_wait_us_max, queue_needs
from retrofit.timing.wire_scenarios import ConsoleMessages, OnOff


def test_the_rings_are_those_of_the_firmware() -> None:
    """The sizes are the ones that the C core defines, the bytes ahead those with which its outlets are ready."""
    core = files("firmware_templates").joinpath("core")
    defined = re.findall(r"#define EVENT_SLOTS_(\w+) (\d+)", core.joinpath("events.h").read_text(encoding="utf-8"))
    assert {name.lower(): int(slots) for name, slots in defined} == RING_SLOTS
    assert "port_wire_waiting() <= 1" in core.joinpath("outlets.h").read_text(encoding="utf-8")


def test_needs_and_room() -> None:
    """Ten keys on two channels need 20 slots and fit; 33 stops do not fit 32 slots, and the words say what it costs."""
    keys = tuple(tuple(OnOff(note_on(c, 36 + i, 1), b"") for i in range(61)) for c in (1, 2))
    stops = tuple(OnOff(control_change(3, i, 127), b"") for i in range(33))
    needs = {need.ring: need for need in queue_needs(ConsoleMessages(keys, stops[:12], stops, (), 10_000))}
    assert {ring: need.needed for ring, need in needs.items()} == {"notes": 20, "pistons": 10, "stops": 33}
    assert {ring: need.fits for ring, need in needs.items()} == {"notes": True, "pistons": True, "stops": False}
    assert needs["notes"].words == "never full"
    assert "made good afterwards" in needs["stops"].words


def test_a_note_waits_for_one_message_and_what_is_under_way() -> None:
    """Three bytes of a message and three before it, 320 µs each at 99 % of the rate: 1.94 ms."""
    assert note_wait_us_max() == pytest.approx(6 * 320 / 0.99)
