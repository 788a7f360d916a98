"""How long a burst of messages takes on a DIN wire and over USB.

USB MIDI sends one event of four bytes per message (USB Device Class Definition for MIDI Devices 1.0, clause 4), 16 of
them in a bulk packet of 64 bytes (USB 2.0, 5.8.3), and up to 19 such packets in a frame of 1 ms (USB 2.0, table 5-9,
number from memory).  Bulk transfers have no share of the bus of their own, so the worst case is taken as one packet a
frame, after waiting for a frame to begin.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from retrofit.timing.wire import bytes_on_wire, nominal_us, wire_us_max

USB_EVENT_BYTES = 4
USB_EVENTS_PER_PACKET = 16
USB_PACKETS_PER_FRAME = 19
USB_FRAME_US = 1000.0


@dataclass(frozen=True, slots=True)
class WireTime:
    """What a burst costs: messages, bytes, and its time in microseconds, nominal and worst case."""

    messages: int
    bytes: int
    nominal_us: float
    us_max: float


class Wire(Protocol):
    """A way out for messages."""

    @property
    def name(self) -> str:
        """What it is called in a table."""

    def time(self, messages: Sequence[bytes]) -> WireTime:
        """Return what a burst takes from a wire that is idle."""


@dataclass(frozen=True, slots=True)
class DinWire:
    """A DIN port at 31.25 kBd, with or without running status."""

    running_status: bool

    @property
    def name(self) -> str:
        """What it is called in a table."""
        return "DIN, running status" if self.running_status else "DIN"

    def time(self, messages: Sequence[bytes]) -> WireTime:
        """Return what a burst takes from an idle wire on which no status stands."""
        return WireTime(
            len(messages),
            bytes_on_wire(messages, self.running_status),
            nominal_us(messages, self.running_status),
            wire_us_max(messages, self.running_status),
        )


@dataclass(frozen=True, slots=True)
class UsbWire:
    """A full-speed USB port."""

    name: str = "USB"

    def time(self, messages: Sequence[bytes]) -> WireTime:
        """Return what a burst takes: with packets close together, and with one a frame; nothing for no message."""
        packets = math.ceil(len(messages) / USB_EVENTS_PER_PACKET)
        wait = 1 if packets else 0
        return WireTime(
            len(messages),
            len(messages) * USB_EVENT_BYTES,
            (wait + math.ceil(packets / USB_PACKETS_PER_FRAME)) * USB_FRAME_US,
            (wait + packets) * USB_FRAME_US,
        )
