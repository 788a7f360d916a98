"""From bytes on the wire, each with its time, to whole messages (MIDI 1.0: running status, real-time bytes, SysEx)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

BYTE_CYCLES = 5120
"""Ten bits at 31,250 baud on a 16 MHz clock: 320 µs (IEC 63035)."""

_SYSTEM_EXCLUSIVE = 0xF0
_END_OF_EXCLUSIVE = 0xF7
_FIRST_SYSTEM = 0xF0
_FIRST_REAL_TIME = 0xF8
_UNDEFINED = frozenset({0xF4, 0xF5, 0xF9, 0xFD})
_SYSTEM_DATA = {0xF1: 1, 0xF2: 2, 0xF3: 1, 0xF6: 0}
_CHANNEL_DATA = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}


@dataclass(frozen=True)
class TimedMessage:
    """A whole message, its status byte always there, with the cycles at which it began and had wholly left.

    `wire_bytes` counts what was sent for it: one less than its length under running status.
    """

    data: bytes
    begins: int
    ends: int
    wire_bytes: int


@dataclass(frozen=True)
class Stray:
    """A byte that belongs to no message: data without a status, an undefined status, or a message broken off."""

    cycle: int
    byte: int
    why: str


@dataclass(frozen=True)
class Decoded:
    """Everything that was on the wire: whole messages and stray bytes, each in order of time."""

    messages: tuple[TimedMessage, ...]
    strays: tuple[Stray, ...]


def decode(stream: Iterable[tuple[int, int]]) -> Decoded:
    """Decode `(cycle of the start bit, byte)` pairs."""
    decoder = _Decoder()
    for cycle, byte in stream:
        decoder.take(cycle, byte)
    decoder.break_off("the stream ended inside a message")
    return Decoded(tuple(decoder.messages), tuple(decoder.strays))


def decode_packets(packets: Iterable[tuple[int, int, bytes]]) -> Decoded:
    """Decode USB-MIDI event packets, `(cycle when handed over, cycle when taken, packet)`.

    The low half of the first byte says how many bytes follow (USB Device Class Definition for MIDI Devices 1.0, table
    4-1); only channel messages are expected, and system exclusive is left out.
    """
    messages, strays = [], []
    for ready, taken, packet in packets:
        code, status = packet[0], packet[1]
        if code in _CHANNEL_DATA and status >> 4 == code:
            messages.append(TimedMessage(packet[1 : 2 + _CHANNEL_DATA[code]], ready, taken, 0))
        elif code not in (4, 5, 6, 7):
            strays.append(Stray(taken, status, f"code index number {code:X} does not fit the status"))
    return Decoded(tuple(messages), tuple(strays))


class _Decoder:
    def __init__(self) -> None:
        self.messages: list[TimedMessage] = []
        self.strays: list[Stray] = []
        self.running: int | None = None
        self.status: int | None = None
        self.parts: list[tuple[int, int]] = []

    def take(self, cycle: int, byte: int) -> None:
        if byte in _UNDEFINED:
            self.strays.append(Stray(cycle, byte, "undefined status byte"))
        elif byte >= _FIRST_REAL_TIME:
            self.messages.append(TimedMessage(bytes((byte,)), cycle, cycle + BYTE_CYCLES, 1))
        elif byte & 0x80:
            self._take_status(cycle, byte)
        else:
            self._take_data(cycle, byte)

    def _take_status(self, cycle: int, byte: int) -> None:
        if byte == _END_OF_EXCLUSIVE and self.status == _SYSTEM_EXCLUSIVE:
            self.parts.append((cycle, byte))
            self._finish()
            return
        self.break_off("message broken off by a status byte")
        self.running = byte if byte < _FIRST_SYSTEM else None
        if byte == _END_OF_EXCLUSIVE:
            self.strays.append(Stray(cycle, byte, "end of exclusive without a beginning"))
            return
        self.status = byte
        self.parts = [(cycle, byte)]
        self._finish_if_whole()

    def _take_data(self, cycle: int, byte: int) -> None:
        if self.status is None:
            if self.running is None:
                self.strays.append(Stray(cycle, byte, "data byte without a status"))
                return
            self.status = self.running
        self.parts.append((cycle, byte))
        self._finish_if_whole()

    def _finish_if_whole(self) -> None:
        if self.status is None or self.status == _SYSTEM_EXCLUSIVE:
            return
        wanted = _SYSTEM_DATA[self.status] if self.status >= _FIRST_SYSTEM else _CHANNEL_DATA[self.status >> 4]
        have = sum(1 for _, byte in self.parts if byte < 0x80)
        if have == wanted:
            self._finish()

    def _finish(self) -> None:
        data = bytes(byte for _, byte in self.parts)
        if data[0] < 0x80 and self.status is not None:
            data = bytes((self.status,)) + data
        ends = self.parts[-1][0] + BYTE_CYCLES
        self.messages.append(TimedMessage(data, self.parts[0][0], ends, len(self.parts)))
        self._forget()

    def break_off(self, why: str) -> None:
        """Give up an unfinished message: all its bytes are stray."""
        self.strays.extend(Stray(cycle, byte, why) for cycle, byte in self.parts)
        self._forget()

    def _forget(self) -> None:
        self.status = None
        self.parts = []
