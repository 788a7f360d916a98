"""The bytes of the MIDI 1.0 channel messages that a console sends (IEC 63035; MIDI 1.0 Detailed Specification)."""

from __future__ import annotations

from dataclasses import dataclass

NOTE_OFF = 0x80
NOTE_ON = 0x90
CONTROL_CHANGE = 0xB0
PROGRAM_CHANGE = 0xC0
COARSE_BITS = 7
"""What one controller carries."""
FINE_ABOVE = 32
"""The fine half of controller n, below it, is controller n + 32 (MIDI 1.0, Table III)."""
ALL_NOTES_OFF = 123
"""Controller number of the channel mode message All Notes Off (MIDI 1.0, Table III)."""


@dataclass(frozen=True, slots=True)
class PointMessage:
    """What a point sends when it goes on and when it goes off; empty bytes mean that nothing is sent."""

    on: bytes
    off: bytes


@dataclass(frozen=True, slots=True)
class ShoeMessage:
    """What a shoe sends: a controller on a channel (1-16), with this many bits of value."""

    channel: int
    controller: int
    bits: int = 7


def _status(kind: int, channel: int) -> int:
    if not 1 <= channel <= 16:
        raise ValueError(f"MIDI channel {channel} found, allowed 1 to 16")
    return kind | (channel - 1)


def _data(value: int, what: str) -> int:
    if not 0 <= value <= 127:
        raise ValueError(f"{what} {value} found, allowed 0 to 127")
    return value


def note_on(channel: int, note: int, velocity: int) -> bytes:
    """Return a note-on; `channel` is 1-16.  Raises `ValueError` naming the value that is out of range."""
    return bytes((_status(NOTE_ON, channel), _data(note, "note"), _data(velocity, "velocity")))


def note_off(channel: int, note: int, velocity: int = 64) -> bytes:
    """Return a note-off (status 8n); 64 is the velocity of a sender that measures none."""
    return bytes((_status(NOTE_OFF, channel), _data(note, "note"), _data(velocity, "velocity")))


def control_change(channel: int, controller: int, value: int) -> bytes:
    """Return a control change."""
    return bytes((_status(CONTROL_CHANGE, channel), _data(controller, "controller"), _data(value, "value")))


def program_change(channel: int, program: int) -> bytes:
    """Return a program change; `program` is the byte sent, 0-127."""
    return bytes((_status(PROGRAM_CHANGE, channel), _data(program, "program")))
