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

    def due(self, number: int, changed: int) -> int:
        """Return which of these contacts of a lane differ from what was sent; a release ends the muting, silently."""
        lane = self.lanes[number]
        lane.muted &= lane.now
        return (lane.now ^ lane.sent) & changed & ~lane.muted

    def put(self, number: int, due: int) -> None:
        """Queue contacts of a lane that are due; nothing when there are none."""
        if not due:
            return
        lane = self.lanes[number]
        ring = self.rings[lane.duty]
        if len(ring.entries) == ring.slots:
            ring.behind = len(self.lanes)
            self.overflowed += 1
            return
        lane.sent ^= due
        ring.entries.append([number, due, lane.now])

    def send_now(self, number: int, due: int, send: Send) -> bool:
        """Send the lowest of the contacts that are due past the queue, and queue the others; return whether any are."""
        lane = self.lanes[number]
        lowest = due & -due
        self.put(number, due ^ lowest)
        lane.sent ^= lowest
        send(number, lowest.bit_length() - 1, bool(lane.now & lowest))
        return due != lowest

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
            self.put(number, self.due(number, lane.used))
