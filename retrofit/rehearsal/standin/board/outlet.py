"""The way out: when another message may be sent, and when the last of it has arrived."""

from __future__ import annotations

from typing import Protocol

BYTE_US = 320
"""Ten bits at 31,250 baud (MIDI 1.0)."""
IDLE_US = 300_000
RENEW_US = 1_000_000
"""Running status is given up after so long without a message, and after so long in any case."""
HOST_BACK_US = 100_000
"""A USB host counts as there once it has taken packets for so long."""
_EXCLUSIVE = 0xF0


class Outlet(Protocol):
    """A way out of the board."""

    def ready_us(self, now_us: int) -> int:
        """Return from when on a message may be sent: now, or later."""

    def send(self, now_us: int, rests: int, message: bytes) -> int:
        """Send a message; return when it has arrived.  `rests` counts the ticks whose work was over before."""


class Wire:
    """The serial wire: one byte after the other, a new message when at most one byte still waits behind the present."""

    def __init__(self, tick_us: int, running_status: bool) -> None:
        self._idle_ticks = IDLE_US // tick_us
        self._renew_ticks = RENEW_US // tick_us - 1
        self._running_status = running_status
        self._free_us = 0
        self._running = 0
        self._message_at = 0
        self._status_at = 0

    def ready_us(self, now_us: int) -> int:
        """Return from when on at most one byte waits."""
        return max(now_us, self._free_us - 2 * BYTE_US)

    def send(self, now_us: int, rests: int, message: bytes) -> int:
        """Put a message on the wire, without its status where the receiver assumes it."""
        if message[0] >= _EXCLUSIVE:
            self._running = 0
            return self._put(now_us, len(message))
        if rests - self._message_at >= self._idle_ticks or rests - self._status_at >= self._renew_ticks:
            self._running = 0
        left_out = self._running_status and message[0] == self._running
        if not left_out:
            self._running = message[0]
            self._status_at = rests
        self._message_at = rests
        return self._put(now_us, len(message) - left_out)

    def _put(self, now_us: int, count: int) -> int:
        self._free_us = max(now_us, self._free_us) + count * BYTE_US
        return self._free_us


class Usb:
    """Packets of USB: a host that is there takes every message at once."""

    def __init__(self, tick_us: int) -> None:
        self._here_us = HOST_BACK_US // tick_us * tick_us

    def ready_us(self, now_us: int) -> int:
        """Return from when on the host is there."""
        return max(now_us, self._here_us)

    def send(self, now_us: int, rests: int, message: bytes) -> int:  # noqa: ARG002  # a packet holds a whole message
        """Give a message to the host."""
        return now_us
