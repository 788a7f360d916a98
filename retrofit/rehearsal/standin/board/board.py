"""The board as a whole: levels in, messages out, stepping only to the ticks and moments at which something happens.

Its order of things is the firmware's: within a tick the lanes are read in turn and what changed is queued; then time is
counted for the shoes and the start; between ticks, every few microseconds, the most urgent message is sent as soon as
the outlet is ready.
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heappop, heappush

from retrofit.rehearsal.standin.board.contacts import Settled, settled
from retrofit.rehearsal.standin.board.events import Events
from retrofit.rehearsal.standin.board.outlet import Outlet, Usb, Wire
from retrofit.rehearsal.standin.board.panic import Panic
from retrofit.rehearsal.standin.board.shoes import Shoes, Stages
from retrofit.rehearsal.standin.board.start import Start
from retrofit.rehearsal.standin.board.table import LANE_BITS, BoardTable, Duty

IDLE_STEP_US = 5
"""From one look at the outlet to the next, between two ticks."""
AGAIN_US = 1_000_000
"""Stops and shoes are said again at most so often."""
NEVER = 1 << 62
"""A tick that does not come."""
_SAMPLE, _LOOK, _DECIDE = range(3)
_Due = tuple[int, int, int, int]
"""A tick, a contact, what is to be done with it, and the level that was sampled or the count of foretellings."""


class Board:
    """A board from power-on at time 0; `sent` are its messages, each with the time in microseconds of its arrival."""

    def __init__(self, table: BoardTable, levels: Sequence[int]) -> None:
        self._table, self._tick_us = table, table.tick_us
        self._levels = levels
        self.sent: list[tuple[int, bytes]] = []
        self.events = Events(table.lanes)
        self._outlet: Outlet = Wire(table.tick_us, table.running_status) if table.by_wire else Usb(table.tick_us)
        self.shoes = Shoes(table)
        self._stages = Stages(table.shoes, self.shoes, self._is_on)
        self._start = Start(table, self.events)
        self._panic = Panic(table, self.events)
        self._contacts: list[Settled] = [
            settled(lane.group.period_ticks, lane.group.debounce) for lane in table.lanes for _ in range(LANE_BITS)
        ]
        self._foretold = [0] * len(self._contacts)
        self._sampled_at = [-1] * len(self._contacts)
        self._due: list[_Due] = []
        self._pending = True
        self._pump_us = 0
        self._rests = -1
        self._again_at: int | None = None
        self._again_free_at = 0
        self._foreseen = 0
        for shoe, row in enumerate(table.shoes):
            if not row.stages:
                self.shoes.set_value(shoe, 0)
        for number, lane in enumerate(table.lanes):
            self.take(0, number, levels[number] ^ lane.invert)

    def take(self, time_us: int, lane: int, changed: int) -> None:
        """Take note that bits of a lane changed their level; everything before this moment has been run."""
        row = self._table.lanes[lane]
        changed &= row.used
        if not changed:
            return
        group = row.group
        tick = -(-time_us // self._tick_us)
        tick += (group.phase - tick) % group.period_ticks
        kind = _SAMPLE if group.late_ticks else _LOOK
        while changed:
            lowest = changed & -changed
            changed ^= lowest
            contact = lane * LANE_BITS + lowest.bit_length() - 1
            if self._sampled_at[contact] != tick:
                self._sampled_at[contact] = tick
                heappush(self._due, (tick, contact, kind, -1))

    def move_shoe(self, shoe: int, value: int) -> None:
        """Let the converter find a new value of a shoe."""
        self.shoes.set_value(shoe, value)
        self._foresee(self._rests + 1)

    def run_before(self, until_us: int) -> None:
        """Do everything that is due before a moment."""
        while True:
            tick = self._next_tick()
            tick_us = tick * self._tick_us
            if self._pending and not self._pump(min(tick_us, until_us)):
                continue
            if tick_us >= until_us:
                break
            self._tick(tick)
        self._rests = max(self._rests, (until_us - 1) // self._tick_us)

    def _next_tick(self) -> int:
        """Return the next tick that has anything to do."""
        due = self._due
        return min(due[0][0], self._foreseen) if due else self._foreseen

    def _foresee(self, least: int) -> None:
        """Work out the tick, from `least` on, at which something is next done that no contact brings."""
        before = least - 1
        times = (self.shoes.next_rest(before), self._start.opens_at(before), self._panic.due_at(before), self._again_at)
        found = [max(least, time) for time in times if time is not None]
        if self._stages.at_work:
            found.append(least)
        self._foreseen = min(found, default=NEVER)

    def _tick(self, tick: int) -> None:
        now_us = tick * self._tick_us
        self._rests = tick - 1
        self._pump_us = now_us
        self._scan(tick, now_us)
        self._rests = tick
        if self._table.panic:
            self._panic.watch(tick)
            self._foresee(tick)
        if tick >= self._foreseen:
            self._count_time(tick)
            self._foresee(tick + 1)
        if self._pending and self._outlet.ready_us(now_us) <= now_us:
            self._feed(now_us)

    def _scan(self, tick: int, now_us: int) -> None:
        """Look at the contacts that are due, in the order of the lanes; those of one lane that change go together."""
        lane, changed = -1, 0
        while self._due and self._due[0][0] == tick:
            _, contact, kind, found = heappop(self._due)
            number, bit = divmod(contact, LANE_BITS)
            if number != lane:
                self._hand_on(lane, changed, now_us)
                lane, changed = number, 0
            if self._contact_changes(tick, contact, kind, found):
                changed |= 1 << bit
        self._hand_on(lane, changed, now_us)

    def _contact_changes(self, tick: int, contact: int, kind: int, found: int) -> bool:
        """Do what is due with a contact; return whether its state changes now."""
        number, bit = divmod(contact, LANE_BITS)
        lane = self._table.lanes[number]
        settling = self._contacts[contact]
        if kind == _DECIDE:
            if found != self._foretold[contact]:
                return False
            settling.decide(tick)
            return True
        level = (self._levels[number] ^ lane.invert) >> bit & 1 if found < 0 else found
        if kind == _SAMPLE:
            heappush(self._due, (tick + lane.group.late_ticks, contact, _LOOK, level))
            return False
        if level == settling.level:
            return False
        self._foretold[contact] += 1
        due = settling.look(tick, bool(level))
        if due == tick:
            settling.decide(tick)
            return True
        if due is not None:
            heappush(self._due, (due, contact, _DECIDE, self._foretold[contact]))
        return False

    def _hand_on(self, number: int, changed: int, now_us: int) -> None:
        """Report what changed."""
        if not changed:
            return
        lane = self.events.lanes[number]
        lane.now ^= changed
        if lane.duty is Duty.STAGES:
            self._stages.changed(self._table.lanes[number].group.shoe)
            self._foreseen = now_us // self._tick_us
        elif self.events.opened and (due := self.events.due(number, changed)):
            self._report(number, due, now_us)

    def _report(self, number: int, due: int, now_us: int) -> None:
        """Queue contacts; by the wire the first goes out at once where nothing waits."""
        if self._table.by_wire and not self._pending and self._outlet.ready_us(now_us) <= now_us:
            self._now_us = now_us
            self._pending = self.events.send_now(number, due, self._send)
            return
        self.events.put(number, due)
        self._pending = True

    def _count_time(self, tick: int) -> None:
        if self._panic.due_at(tick - 1) == tick:
            self._panic.begin()
            self._pending = True
        self._stages.tick()
        self._pending |= self.shoes.rest(tick)
        if self._start.may_open(tick):
            self._start.open()
            self.shoes.opened = True
            self._panic.watch(tick)
            self._state_begins()
        elif self._again_at is not None and tick >= self._again_at and not self._start.state_left:
            self._again_at = None
            self._again_free_at = tick + AGAIN_US // self._tick_us + 1
            self._start.report()
            self._state_begins()

    def _state_begins(self) -> None:
        self.shoes.repeat()
        self._pending = True

    def _pump(self, until_us: int) -> bool:
        """Between ticks, send while there is something to send; return False when a tick before then has come up."""
        while self._pending and self._foreseen * self._tick_us >= until_us:
            now_us = self._outlet.ready_us(self._pump_us)
            now_us += -now_us % IDLE_STEP_US
            if now_us >= until_us:
                self._pump_us = now_us
                break
            tick = now_us // self._tick_us
            at_tick_end = tick > self._rests and now_us % self._tick_us == 0
            self._rests = tick
            self._pump_us = now_us if at_tick_end else now_us + IDLE_STEP_US
            self._feed(now_us)
        return self._foreseen * self._tick_us >= until_us

    def _feed(self, now_us: int) -> None:
        """Send the most urgent message, or go one step on with what is not urgent."""
        self._now_us = now_us
        events = self.events
        if events.send_next(self._send) or events.catch_up():
            return
        self._feed_background()
        self._foresee(self._rests + 1)

    def _feed_background(self) -> None:
        start = self._start
        if start.silence_left:
            start.silence_next(self._send_bytes)
        elif self._panic.left and self._panic_next():
            return
        elif start.state_left:
            start.state_next(self._send, self._send_bytes)
        elif self.shoes.any_ready:
            self.shoes.send_next(self._rests, self._send_bytes)
        elif not self._panic.left:
            self._pending = False

    def _panic_next(self) -> bool:
        sent = self._panic.next(self._send, self._send_bytes)
        if not self._panic.left:
            self._again_at = max(self._rests + 1, self._again_free_at)
        return sent

    def _send(self, lane: int, bit: int, on: bool) -> None:
        row = self._table.lanes[lane]
        message = (row.on if on else row.off)[bit]
        if message:
            self._send_bytes(message)

    def _send_bytes(self, message: bytes) -> None:
        self.sent.append((self._outlet.send(self._now_us, self._rests, message), message))

    def _is_on(self, contact: int) -> bool:
        number, bit = divmod(contact, LANE_BITS)
        return bool(self.events.lanes[number].now >> bit & 1)
