"""From the bytes of a serial line to whole MIDI messages.

Rules of the MIDI 1.0 Detailed Specification: running status holds for channel messages and is ended by system common
and system exclusive messages; real-time bytes may fall anywhere, even inside a message, and disturb nothing; a status
byte ends whatever was under way; data bytes that belong to no message are ignored.
"""

from __future__ import annotations

from collections.abc import Iterable

EXCLUSIVE, EXCLUSIVE_END, FIRST_REAL_TIME = 0xF0, 0xF7, 0xF8
EXCLUSIVE_LENGTH_MAX = 4096
"""Longest system exclusive message that is kept, in bytes; what is longer is cut off and counted."""

_UNDEFINED = frozenset((0xF4, 0xF5, 0xF9, 0xFD))
_COMMON_DATA = {0xF1: 1, 0xF2: 2, 0xF3: 1, 0xF6: 0}


def data_bytes(status: int) -> int:
    """Return how many data bytes follow a status byte of 80 to EF, F1, F2, F3 or F6 (MIDI 1.0, table I)."""
    return _COMMON_DATA[status] if status >= EXCLUSIVE else 1 if status & 0xE0 == 0xC0 else 2


class MidiParser:
    """Takes bytes as they come and gives back whole messages, each with its status byte.

    `stray_bytes` counts data bytes of no message and undefined statuses, `cut_messages` those that another status byte
    ended too early or that were too long.
    """

    def __init__(self) -> None:
        self.stray_bytes = 0
        self.cut_messages = 0
        self._message = bytearray()
        self._missing = 0
        self._running = 0

    def feed(self, data: Iterable[int]) -> list[bytes]:
        """Take some bytes; return the messages that they complete, in order."""
        found: list[bytes] = []
        for byte in data:
            if byte < 0x80:
                self._take_data(byte, found)
            elif byte >= FIRST_REAL_TIME:
                self._take_real_time(byte, found)
            else:
                self._take_status(byte, found)
        return found

    def _take_real_time(self, byte: int, found: list[bytes]) -> None:
        if byte in _UNDEFINED:
            self.stray_bytes += 1
        else:
            found.append(bytes((byte,)))

    def _take_status(self, byte: int, found: list[bytes]) -> None:
        if byte == EXCLUSIVE_END:
            self._end_exclusive(found)
            return
        self._cut()
        self._running = byte if byte < EXCLUSIVE else 0
        if byte in _UNDEFINED:
            self.stray_bytes += 1
        else:
            self._begin(byte, found)

    def _begin(self, status: int, found: list[bytes]) -> None:
        self._message.append(status)
        if status == EXCLUSIVE:
            return
        self._missing = data_bytes(status)
        self._end_if_whole(found)

    def _take_data(self, byte: int, found: list[bytes]) -> None:
        if not self._message:
            if not self._running:
                self.stray_bytes += 1
                return
            self._begin(self._running, found)
        self._message.append(byte)
        if self._message[0] == EXCLUSIVE:
            if len(self._message) >= EXCLUSIVE_LENGTH_MAX:
                self._cut()
            return
        self._missing -= 1
        self._end_if_whole(found)

    def _end_if_whole(self, found: list[bytes]) -> None:
        if self._missing == 0:
            found.append(bytes(self._message))
            self._message.clear()

    def _end_exclusive(self, found: list[bytes]) -> None:
        self._running = 0
        if self._message and self._message[0] == EXCLUSIVE:
            self._message.append(EXCLUSIVE_END)
            found.append(bytes(self._message))
            self._message.clear()
            return
        self.stray_bytes += 1
        self._cut()

    def _cut(self) -> None:
        """Give up what is under way; what merely waits for its first byte of running status is nothing."""
        if self._message:
            self.cut_messages += 1
            self._message.clear()
