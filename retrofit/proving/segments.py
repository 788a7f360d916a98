"""From single messages to presses: which contacts went on together, and how each of them came to rest.

Contacts whose first messages lie close together belong to one press; a contact that goes on later, while others are
still held, begins a press of its own, so that legato playing falls into its notes.
"""

from __future__ import annotations

from retrofit.proving.evidence import HeardPoint, Stroke

TOGETHER_US = 30_000
"""First messages within this time are one press: a chord struck at once, a wire joined to its neighbour.

Common practice, no source: a slow run strikes a key a second, a fast one eight.
"""
PRESSES_KEPT = 4096
"""Presses that are kept while nobody asks for them; older ones are forgotten and counted."""


class _Held:
    """A contact in a press that is under way."""

    __slots__ = ("edges", "off_us", "on_us", "press", "rest_us")

    def __init__(self, press: _Press, on_us: int, rest_us: int) -> None:
        self.press = press
        self.on_us = on_us
        self.rest_us = rest_us
        self.off_us: int | None = None
        self.edges = 1


class _Press:
    __slots__ = ("begun_us", "held")

    def __init__(self, begun_us: int) -> None:
        self.begun_us = begun_us
        self.held: dict[str, _Held] = {}


class Segmenter:
    """Takes ons and offs of named contacts, gives back finished presses.

    A contact has come to rest when it was off for its `rest_us`; a press is finished when all its contacts have, or
    when it is older than `longest_us`, as one of a contact that stays on is.
    """

    def __init__(self, longest_us: int = 10_000_000) -> None:
        self.longest_us = longest_us
        self.forgotten = 0
        self._moving: dict[str, _Held] = {}
        self._presses: list[_Press] = []

    def switch(self, point: str, on: bool, time_us: int, rest_us: int) -> None:
        """Take one message of a contact; an off of a contact that is in no press says nothing of presses."""
        held = self._moving.get(point)
        if held is not None and self._is_past(held, time_us):
            del self._moving[point]
            held = None
        if held is not None:
            held.edges += 1
            held.off_us = None if on else time_us
        elif on:
            self._begin(point, time_us, rest_us)

    def _is_past(self, held: _Held, time_us: int) -> bool:
        """Return whether a message of now belongs to no press that this contact was in, whoever has asked meanwhile."""
        rested = held.off_us is not None and time_us - held.off_us >= held.rest_us
        return rested or time_us - held.press.begun_us > self.longest_us

    def _begin(self, point: str, time_us: int, rest_us: int) -> None:
        newest = self._presses[-1] if self._presses else None
        if newest is None or time_us - newest.begun_us > TOGETHER_US or point in newest.held:
            newest = _Press(time_us)
            self._presses.append(newest)
            if len(self._presses) > PRESSES_KEPT:
                del self._presses[0]
                self.forgotten += 1
        held = _Held(newest, time_us, rest_us)
        newest.held[point] = held
        self._moving[point] = held

    def finished(self, now_us: int) -> list[Stroke]:
        """Return the presses that are finished by now, in the order in which they began, and forget them."""
        done = [press for press in self._presses if self._is_over(press, now_us)]
        if not done:
            return []
        over = set(map(id, done))
        self._presses = [press for press in self._presses if id(press) not in over]
        self._moving = {point: held for point, held in self._moving.items() if id(held.press) not in over}
        return [_stroke(press) for press in done]

    def _is_over(self, press: _Press, now_us: int) -> bool:
        if now_us - press.begun_us > self.longest_us:
            return True
        if now_us - press.begun_us <= TOGETHER_US:
            return False
        return all(held.off_us is not None and now_us - held.off_us >= held.rest_us for held in press.held.values())


def _stroke(press: _Press) -> Stroke:
    return Stroke(tuple(HeardPoint(point, held.on_us, held.off_us, held.edges) for point, held in press.held.items()))
