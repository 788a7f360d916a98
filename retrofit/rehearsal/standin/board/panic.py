"""Two pistons held for long end every note that sounds, and let stops and shoes be said again."""

from __future__ import annotations

from collections.abc import Callable

from retrofit.midi.messages import ALL_NOTES_OFF, CONTROL_CHANGE, NOTE_ON
from retrofit.rehearsal.standin.board.events import Events, LaneState, Send
from retrofit.rehearsal.standin.board.table import LANE_BITS, BoardTable, Duty

HELD_US = 2_000_000
"""For so long both pistons are held."""
DAMPER = 64


class Panic:
    """The watch over the two pistons, and the round over the lanes that follows; `left` is True while that goes on."""

    def __init__(self, table: BoardTable, events: Events) -> None:
        self._table, self._events = table, events
        self._ticks = HELD_US // table.tick_us
        self._since: int | None = None
        self._lane = self._lanes_left = self._modes_left = 0
        self.left = False

    def watch(self, tick: int) -> None:
        """Look whether both are held now, at a tick at which something changed."""
        if not self._table.panic:
            return
        held = all(self._is_held(contact) for contact in self._table.panic)
        self._since = None if not held else tick if self._since is None else self._since

    def due_at(self, rests: int) -> int | None:
        """Return the tick, after `rests`, at which they have been held for long enough; None while they are not."""
        due = None if self._since is None else self._since + self._ticks - 1
        return due if due is not None and due > rests else None

    def begin(self) -> None:
        """Silence all channels."""
        self._modes_left = 2 * len(self._table.channels)
        self._lanes_left = len(self._events.lanes)
        self.left = True

    def next(self, send: Send, send_bytes: Callable[[bytes], None]) -> bool:
        """Go one step on; return whether a message was sent."""
        if self._lanes_left:
            return self._next_lane(send)
        if self._modes_left:
            self._modes_left -= 1
            channel = self._table.channels[self._modes_left >> 1]
            controller = ALL_NOTES_OFF if self._modes_left & 1 else DAMPER
            send_bytes(bytes((CONTROL_CHANGE | channel, controller, 0)))
            return True
        self.left = False
        return False

    def _next_lane(self, send: Send) -> bool:
        lane = self._events.lanes[self._lane]
        bit = self._sounding(self._lane, lane)
        if bit is not None:
            lane.sent ^= 1 << bit
            lane.muted |= lane.now & 1 << bit
            send(self._lane, bit, False)
            return True
        self._lane = (self._lane + 1) % len(self._events.lanes)
        self._lanes_left -= 1
        return False

    def _sounding(self, number: int, lane: LaneState) -> int | None:
        if lane.duty in (Duty.STOPS, Duty.STAGES):
            return None
        on = self._table.lanes[number].on
        return next((b for b in range(LANE_BITS) if lane.sent >> b & 1 and on[b][0] & 0xF0 == NOTE_ON), None)

    def _is_held(self, contact: int) -> bool:
        number, bit = divmod(contact, LANE_BITS)
        lane = self._events.lanes[number]
        return bool((lane.now & ~lane.muted) >> bit & 1)
