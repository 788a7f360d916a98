"""What is said unasked at power-on: silence first, then what is held, then how the stops stand."""

from __future__ import annotations

from collections.abc import Callable

from retrofit.midi.messages import ALL_NOTES_OFF, CONTROL_CHANGE
from retrofit.rehearsal.standin.board.events import Events, Send
from retrofit.rehearsal.standin.board.table import LANE_BITS, BoardTable, Duty

HELD_REPORT = bytes((0xF0, 0x7D, 0x01))
"""Begins the board's report of a contact that was on at power-on (F0 7D: non-commercial, MIDI 1.0)."""
_HELD, _STOPS, _DONE = range(3)


class Start:
    """The order of things at power-on; `silence_left` channels are still to be silenced, `state_left` reports wait."""

    def __init__(self, table: BoardTable, events: Events) -> None:
        self._table, self._events = table, events
        self.silence_left = len(table.channels)
        self.state_left = False
        self._part = _HELD
        self._lane = 0
        self._rest: int | None = None

    def opens_at(self, rests: int) -> int | None:
        """Return the next tick, after `rests`, that may open the rings; None when they are open."""
        return None if self._events.opened else max(rests + 1, self._table.power_on_ticks)

    def may_open(self, rests: int) -> bool:
        """Return whether the waiting time is over and silence has been sent."""
        return not self._events.opened and rests >= self._table.power_on_ticks and self.silence_left == 0

    def open(self) -> None:
        """Take over how everything stands: keys and pistons that are on stay unheard until they are released."""
        for lane in self._events.lanes:
            on = lane.now & lane.used
            lane.sent = on if lane.duty is Duty.STOPS else 0
            lane.muted = 0 if lane.duty is Duty.STOPS else on
        self._events.opened = True
        self.report(from_stops=not self._table.report_held)

    def report(self, *, from_stops: bool = True) -> None:
        """Begin saying how things stand."""
        self._part = _STOPS if from_stops else _HELD
        self._lane, self._rest = 0, None
        self.state_left = bool(self._events.lanes)

    def silence_next(self, send: Callable[[bytes], None]) -> None:
        """Silence the next channel."""
        channel = self._table.channels[len(self._table.channels) - self.silence_left]
        self.silence_left -= 1
        send(bytes((CONTROL_CHANGE | channel, ALL_NOTES_OFF, 0)))

    def state_next(self, send: Send, send_bytes: Callable[[bytes], None]) -> None:
        """Go one step through the held contacts and the stops; send at most one message."""
        lane = self._events.lanes[self._lane]
        if self._rest is None:
            self._rest = self._subject()
        if not self._rest:
            self._lane_done()
            return
        lowest = self._rest & -self._rest
        self._rest ^= lowest
        bit = lowest.bit_length() - 1
        if self._part == _HELD:
            number = self._lane * LANE_BITS + bit
            send_bytes(HELD_REPORT + bytes((number >> 7, number & 0x7F, 0xF7)))
        else:
            send(self._lane, bit, bool(lane.sent & lowest))

    def _subject(self) -> int:
        lane = self._events.lanes[self._lane]
        if self._part == _HELD:
            return 0 if lane.duty is Duty.STAGES else lane.muted
        return lane.used if lane.duty is Duty.STOPS else 0

    def _lane_done(self) -> None:
        self._rest = None
        self._lane += 1
        if self._lane < len(self._events.lanes):
            return
        self._lane = 0
        self._part += 1
        self.state_left = self._part != _DONE
