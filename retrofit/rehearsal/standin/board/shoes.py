"""The shoes: the newest value of each, sent at most once in an interval, from a converter or from stages."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from retrofit.midi.messages import FINE_ABOVE
from retrofit.rehearsal.standin.board.table import BoardShoe, BoardTable

STAGES_EACH_TICK = 8
SendBytes = Callable[[bytes], None]


class Shoes:
    """The values of all shoes; `rests` everywhere counts ticks whose work is over, as the board counts them."""

    def __init__(self, table: BoardTable) -> None:
        count = len(table.shoes)
        self._shoes = table.shoes
        self._interval = max(1, table.shoe_interval_ticks)
        self._value: list[int | None] = [None] * count
        self._sent: list[int | None] = [None] * count
        self._free_at = [0] * count
        self._fine_due = [False] * count
        self._turn = 0
        self.opened = False
        self.any_ready = False

    def set_value(self, shoe: int, value: int) -> None:
        """Take a new value, from 0 to 127, or to 16383 for a shoe with a fine half."""
        self._value[shoe] = value

    def repeat(self) -> None:
        """Let every known value be sent again."""
        self._sent = [None] * len(self._sent)
        self._fine_due = [False] * len(self._fine_due)

    def next_rest(self, rests: int) -> int | None:
        """Return the next tick, after `rests`, at whose end a shoe is ready; None while nothing waits."""
        if not self.opened:
            return None
        waiting = [
            rests + 1 if self._fine_due[shoe] else max(rests + 1, self._free_at[shoe])
            for shoe in range(len(self._shoes))
            if self._fine_due[shoe] or self._differs(shoe)
        ]
        return min(waiting, default=None)

    def rest(self, rests: int) -> bool:
        """End a tick; return whether something has come up to be sent."""
        if self.opened and any(self._is_ready(shoe, rests) for shoe in range(len(self._shoes))):
            self.any_ready = True
            return True
        return False

    def send_next(self, rests: int, send: SendBytes) -> None:
        """Send one message of the shoe whose turn it is; a shoe keeps its turn between its two halves."""
        for _ in self._shoes:
            shoe = self._turn
            if self._is_ready(shoe, rests):
                self._send(shoe, rests, send)
                if not self._fine_due[shoe]:
                    self._turn_on()
                return
            self._turn_on()
        self.any_ready = False

    def _turn_on(self) -> None:
        self._turn = (self._turn + 1) % len(self._shoes)

    def _differs(self, shoe: int) -> bool:
        return self._value[shoe] != self._sent[shoe]

    def _is_ready(self, shoe: int, rests: int) -> bool:
        return self._fine_due[shoe] or (self._differs(shoe) and rests >= self._free_at[shoe])

    def _send(self, shoe: int, rests: int, send: SendBytes) -> None:
        row, value, sent = self._shoes[shoe], self._value[shoe] or 0, self._sent[shoe]
        if self._fine_due[shoe]:
            self._send_fine(shoe, send)
            return
        upper_stays = row.fine and sent is not None and sent ^ value < 0x80
        self._sent[shoe] = value
        self._free_at[shoe] = rests + self._interval
        if upper_stays:
            self._send_fine(shoe, send)
            return
        send(bytes((row.status, row.controller, value >> 7 if row.fine else value)))
        self._fine_due[shoe] = row.fine

    def _send_fine(self, shoe: int, send: SendBytes) -> None:
        row = self._shoes[shoe]
        send(bytes((row.status, row.controller + FINE_ABOVE, (self._sent[shoe] or 0) & 0x7F)))
        self._fine_due[shoe] = False


class Stages:
    """The walk over the stages of stepped shoes: begun when one of them changes, a few stages each tick.

    `is_on` tells whether a contact is on by its number, lane * 8 + bit.
    """

    def __init__(self, shoes: Sequence[BoardShoe], values: Shoes, is_on: Callable[[int], bool]) -> None:
        self._shoes, self._values, self._is_on = shoes, values, is_on
        self._dirty = [bool(shoe.stages) for shoe in shoes]
        self._walk: int | None = None
        self._stage = self._on = self._reached = 0

    @property
    def at_work(self) -> bool:
        """Whether the next tick has something to do."""
        return self._walk is not None or any(self._dirty)

    def changed(self, shoe: int) -> None:
        """Begin a shoe's stages again."""
        self._dirty[shoe] = True
        if self._walk == shoe:
            self._walk = None

    def tick(self) -> None:
        """Go on with the walk, or begin one."""
        if self._walk is None:
            self._begin()
            return
        shoe = self._shoes[self._walk]
        for _ in range(STAGES_EACH_TICK):
            if self._stage == len(shoe.stages):
                self._end(self._walk, shoe)
                return
            self._step(shoe)

    def _begin(self) -> None:
        if any(self._dirty):
            self._walk = self._dirty.index(True)
            self._dirty[self._walk] = False
            self._stage = self._on = self._reached = 0

    def _step(self, shoe: BoardShoe) -> None:
        """Progressive: at most one stage below the highest may be off.  Selective: the highest that is on."""
        contact = shoe.stages[self._stage]
        self._stage += 1
        if not self._is_on(contact):
            return
        self._on += 1
        if shoe.selective or self._on + 1 >= self._stage:
            self._reached = self._stage

    def _end(self, number: int, shoe: BoardShoe) -> None:
        count = len(shoe.stages)
        if self._reached or not shoe.selective:
            self._values.set_value(number, (self._reached * 127 + count // 2) // count)
        self._walk = None
