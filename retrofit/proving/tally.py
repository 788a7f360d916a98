"""What the live engine counts of one contact."""

from __future__ import annotations

from array import array
from collections import deque

PERIODS_KEPT = 512
"""Newest times between two ons of a chattering contact that are kept for the search for hum."""
ON_TIMES_KEPT = 64
"""Newest strokes of a contact that was played alone whose length is kept."""
COMPANIONS_KEPT = 16
"""Different companions of a contact that are counted one by one."""
CHATTER_RETRIGGERS, CHATTER_US = 2, 8_000
"""More than 4 edges in a stroke, spread over more than 8 ms, are chatter (common practice, no source)."""


class ContactTally:
    """Counts and times of one contact; times are microseconds.

    A stroke begins with an on that comes at least the retrigger window after the off before; another on within the
    window is a retrigger, which belongs to the stroke.  `repeated_ons` and `repeated_offs` said what was known.
    `chattered` counts strokes with chatter, `accompanied` those in whose first instant something else spoke too,
    `companions` by name how often what did; `met_in` is the stroke of the last time.  `periods` are times from on to on
    within chatter, the first of each stroke left out, since a rebound has one alone; `on_times` are lengths of strokes
    that were played alone.
    """

    __slots__ = (
        "accompanied",
        "chattered",
        "companions",
        "edges",
        "is_on",
        "last_us",
        "longest_bounce_us",
        "longest_on_us",
        "met_in",
        "offs",
        "on_times",
        "on_us",
        "ons",
        "periods",
        "repeated_offs",
        "repeated_ons",
        "retriggers",
        "retriggers_most",
        "shortest_on_us",
        "stroke_accompanied",
        "stroke_chattered",
        "stroke_retriggers",
        "stroke_us",
        "strokes",
    )

    def __init__(self) -> None:
        self.is_on = False
        self.strokes = 0
        self.chattered = 0
        self.accompanied = 0
        self.ons = 0
        self.offs = 0
        self.repeated_ons = 0
        self.repeated_offs = 0
        self.retriggers = 0
        self.retriggers_most = 0
        self.stroke_us = 0
        self.stroke_retriggers = 0
        self.stroke_chattered = False
        self.stroke_accompanied = False
        self.longest_bounce_us = 0
        self.shortest_on_us: int | None = None
        self.longest_on_us = 0
        self.on_us = 0
        self.last_us: int | None = None
        self.edges = 0
        self.companions: dict[str, int] = {}
        self.met_in: dict[str, int] = {}
        self.periods: deque[int] = deque(maxlen=PERIODS_KEPT)
        self.on_times: deque[int] = deque(maxlen=ON_TIMES_KEPT)

    def switch(self, on: bool, time_us: int, window_us: int) -> bool:
        """Take one message; return whether it began a stroke."""
        last = self.last_us
        self.last_us = time_us
        self.edges += 1
        if on:
            return self._switch_on(time_us, last, window_us)
        self._switch_off(time_us)
        return False

    def _switch_on(self, time_us: int, last_us: int | None, window_us: int) -> bool:
        self.ons += 1
        if self.is_on:
            self.repeated_ons += 1
            return False
        self.is_on = True
        before_us, self.on_us = self.on_us, time_us
        if last_us is None or not self.strokes or time_us - last_us >= window_us:
            self._begin_stroke(time_us)
            return True
        self._retrigger(time_us - last_us, time_us - before_us)
        return False

    def _begin_stroke(self, time_us: int) -> None:
        self.strokes += 1
        self.stroke_us = time_us
        self.stroke_retriggers = 0
        self.stroke_chattered = False
        self.stroke_accompanied = False

    def _retrigger(self, open_us: int, period_us: int) -> None:
        """Count an on that no hand made, so long after its off and after the on before."""
        self.retriggers += 1
        self.stroke_retriggers += 1
        self.retriggers_most = max(self.retriggers_most, self.stroke_retriggers)
        self.longest_bounce_us = max(self.longest_bounce_us, open_us)
        if self.stroke_retriggers < CHATTER_RETRIGGERS:
            return
        self.periods.append(period_us)
        if not self.stroke_chattered and self.on_us - self.stroke_us > CHATTER_US:
            self.stroke_chattered = True
            self.chattered += 1

    def _switch_off(self, time_us: int) -> None:
        self.offs += 1
        if not self.is_on:
            self.repeated_offs += 1
            return
        self.is_on = False
        length = time_us - self.on_us
        self.longest_on_us = max(self.longest_on_us, length)
        if self.shortest_on_us is None or length < self.shortest_on_us:
            self.shortest_on_us = length

    def silence(self) -> None:
        """Be off by a message that is not this contact's own; nothing is counted."""
        self.is_on = False

    def accompany(self, name: str) -> None:
        """Count something else that spoke in the instant in which the stroke began, once a stroke however often."""
        if not self.stroke_accompanied:
            self.stroke_accompanied = True
            self.accompanied += 1
        if name not in self.companions and len(self.companions) >= COMPANIONS_KEPT:
            return
        if self.met_in.get(name) != self.strokes:
            self.met_in[name] = self.strokes
            self.companions[name] = self.companions.get(name, 0) + 1


class ShoeTally:
    """Values and counts of one shoe, coarse and fine half joined.

    `turns` counts changes of direction, `longest_step` is the largest jump between two values in a row.
    """

    __slots__ = (
        "coarse",
        "direction",
        "fine",
        "greatest",
        "least",
        "longest_step",
        "messages",
        "seen",
        "turns",
        "value",
    )

    def __init__(self) -> None:
        self.messages = 0
        self.coarse = 0
        self.fine = 0
        self.value: int | None = None
        self.least: int | None = None
        self.greatest: int | None = None
        self.longest_step = 0
        self.direction = 0
        self.turns = 0
        self.seen: array[int] = array("B", bytes(128))

    def take(self, data: int, fine: bool, has_fine: bool) -> None:
        """Take one half of a value; the value counts once its last half has come, in units of that half."""
        self.messages += 1
        if fine:
            self.fine = data
        else:
            self.coarse = data
            self.seen[data] = 1
            if has_fine:
                return
        self._value(self.coarse << 7 | self.fine if has_fine else self.coarse)

    def _value(self, value: int) -> None:
        before, self.value = self.value, value
        if before is None:
            self.least = self.greatest = value
            return
        step = value - before
        self.longest_step = max(self.longest_step, abs(step))
        direction = (step > 0) - (step < 0)
        if direction and self.direction and direction != self.direction:
            self.turns += 1
        self.direction = direction or self.direction
        self.least = value if self.least is None else min(self.least, value)
        self.greatest = value if self.greatest is None else max(self.greatest, value)
