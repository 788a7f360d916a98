"""Changes that wait for the wire: one ring for each class of urgency, and what the receiver will have heard.

A change is queued with the contacts of its lane that changed at the same sample.  What meets a full ring is held back
and made good later, lane by lane, from what then differs.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from retrofit.rehearsal.standin.board.table import BoardLane, Duty

SLOTS = {Duty.NOTES: 64, Duty.PISTONS: 16, Duty.STOPS: 32}
"""Entries of each ring; its owner is the firmware's core, and a test holds the two together."""
Send = Callable[[int, int, bool], None]
"""Sends the message of a bit of a lane, for on or for off."""


class LaneState:
    """Eight contacts as masks: `now` debounced, `sent` as the receiver will have them, `muted` since power-on."""

    __slots__ = ("duty", "muted", "now", "sent", "used")

    def __init__(self, lane: BoardLane) -> None:
        self.now = self.sent = self.muted = 0
        self.used = lane.used
        self.duty = lane.group.duty


class Ring:
    """One ring: entries of lane, contacts that are left to be sent, and their states."""

    __slots__ = ("behind", "cursor", "entries", "slots")

    def __init__(self, slots: int) -> None:
        self.entries: deque[list[int]] = deque()
        self.slots = slots
        self.behind = 0
        self.cursor = 0


class Events:
    """The rings of a board and the states of its lanes; nothing is queued until they are opened."""

    def __init__(self, lanes: tuple[BoardLane, ...]) -> None:
        self.lanes = [LaneState(lane) for lane in lanes]
        self.rings = {duty: Ring(slots) for duty, slots in SLOTS.items()}
        self.opened = False
        self.overflowed = 0

    def push(self, number: int, changed: int) -> None:
        """Queue what of these contacts of a lane differs from what was sent."""
        lane = self.lanes[number]
        ring = self.rings[lane.duty]
        mask = (lane.now ^ lane.sent) & changed
        lane.muted &= lane.now
        mask &= ~lane.muted
        if not mask:
            return
        if len(ring.entries) == ring.slots:
            ring.behind = len(self.lanes)
            self.overflowed += 1
            return
        lane.sent ^= mask
        ring.entries.append([number, mask, lane.now])

    def send_next(self, send: Send) -> bool:
        """Send the lowest contact of the oldest entry of the most urgent ring; return whether there was one."""
        for ring in self.rings.values():
            if ring.entries:
                self._send_of(ring, send)
                return True
        return False

    def _send_of(self, ring: Ring, send: Send) -> None:
        number, mask, states = entry = ring.entries[0]
        lowest = mask & -mask
        send(number, lowest.bit_length() - 1, bool(states & lowest))
        entry[1] = mask ^ lowest
        if entry[1]:
            return
        ring.entries.popleft()
        if ring.behind:
            self._catch_up_one(ring)

    def catch_up(self) -> bool:
        """Go on by one lane with what a full ring held back; return whether anything was."""
        for ring in self.rings.values():
            if ring.behind:
                self._catch_up_one(ring)
                return True
        return False

    def _catch_up_one(self, ring: Ring) -> None:
        number = ring.cursor
        ring.cursor = (number + 1) % len(self.lanes)
        ring.behind -= 1
        lane = self.lanes[number]
        if self.rings.get(lane.duty) is ring:
            self.push(number, lane.used)
