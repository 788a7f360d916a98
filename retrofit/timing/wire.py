"""Time on the DIN wire (IEC 63035:2017, clause 4.1): 31.25 kBd ± 1 %, a start bit, eight data bits and a stop bit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

BIT_RATE_BD = 31_250
BIT_RATE_TOLERANCE = 0.01
BITS_PER_BYTE = 10
BYTE_US = BITS_PER_BYTE * 1_000_000 / BIT_RATE_BD
"""Nominal time of one byte, 320 µs."""
BYTE_US_MAX = BYTE_US / (1 - BIT_RATE_TOLERANCE)
"""Time of one byte from the slowest sender that the standard allows, 323.2 µs: what every worst case is made of."""


def bytes_on_wire(messages: Iterable[bytes], running_status: bool) -> int:
    """Return how many bytes a sequence of channel messages takes, from a wire with no status standing.

    With running status a message that repeats the status byte before it leaves it out (MIDI 1.0 Detailed
    Specification).  Raises `ValueError` for anything but channel messages.
    """
    total = 0
    standing = None
    for message in messages:
        if not message or not 0x80 <= message[0] <= 0xEF:
            raise ValueError(f"{message.hex(' ') or 'no byte'} found, allowed are channel messages (status 80 to EF)")
        total += len(message) - (running_status and message[0] == standing)
        standing = message[0]
    return total


def nominal_us(messages: Iterable[bytes], running_status: bool) -> float:
    """Return the time of a sequence of messages on the wire at exactly 31.25 kBd."""
    return bytes_on_wire(messages, running_status) * BYTE_US


def wire_us_max(messages: Iterable[bytes], running_status: bool) -> float:
    """Return the longest time of a sequence of messages on the wire, at 31.25 kBd less 1 %."""
    return bytes_on_wire(messages, running_status) * BYTE_US_MAX


def by_channel(messages: Sequence[bytes]) -> tuple[bytes, ...]:
    """Return the messages of a tutti grouped by channel, so that running status pays; each channel keeps its order."""
    return tuple(sorted(messages, key=lambda message: message[0] & 0x0F))


def load(messages: Iterable[bytes], running_status: bool, within_us: float) -> float:
    """Return the share of the wire's time, 0 to 1 and beyond, that messages take when they are sent `within_us`."""
    return nominal_us(messages, running_status) / within_us
