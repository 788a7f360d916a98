"""Sending many messages through real ports, and seeing whether all arrive."""

from __future__ import annotations

import time

from retrofit.proving.ports.midi_in import MidiInput
from retrofit.proving.ports.midi_out import MidiOutput

RATE = 20_000
"""Messages a second: nineteen times what a MIDI wire carries."""
_PAUSE_S = 0.002
_LAST_S = 10.0


def numbered(count: int) -> bytes:
    """Return a note-on that says its own number: channel, note and velocity, two million different ones in turn."""
    return bytes((0x90 | count // 16_256 % 16, count % 128, 1 + count // 128 % 127))


def flood(out: MidiOutput, heard: MidiInput, seconds: float, rate: int = RATE) -> tuple[int, list[bytes]]:
    """Send numbered messages at a steady rate; return how many, and what was heard, waiting for the last of them."""
    begun, sent = time.monotonic(), 0
    messages: list[bytes] = []
    while (passed_s := time.monotonic() - begun) < seconds:
        due = min(int(passed_s * rate), sent + 512)
        if due > sent and out.send(*map(numbered, range(sent, due))):
            sent = due
        messages += (message for _, message in heard.poll())
        time.sleep(_PAUSE_S)
    deadline = time.monotonic() + _LAST_S
    while len(messages) < sent and time.monotonic() < deadline:
        messages += (message for _, message in heard.poll())
        time.sleep(_PAUSE_S)
    return sent, messages
