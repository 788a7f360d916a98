"""From hands to metal: when each contact opens and closes, how it bounces, and when dirt and loose joints break it."""

from __future__ import annotations

from collections.abc import Mapping
from heapq import heappop, heappush
from random import Random
from typing import NamedTuple

import numpy as np

from retrofit.rehearsal.bounce import NS_PER_US, Bounce
from retrofit.rehearsal.standin.wiring import Contact, Flicker, Making, Node, Pin, Wiring

DIRTY_HELD_US, DIRTY_BREAK_US = 40_000, (500, 15_000)
"""A dirty contact breaks after this mean time, for a time between these; assumed."""
POOL = 256
"""Bursts drawn at once."""


class Edge(NamedTuple):
    """A contact or a loose joint opens or closes; edges of one time keep the order in which they were foreseen.

    `contact` is the contact's number, None for a joint, whose name is then `joint`.  `serial` counts the moves of the
    contact: an edge that a later move has overtaken is void.  `is_dirt` marks a moment at which a dirty contact breaks.
    """

    time_us: int
    order: int
    contact: int | None
    joint: Pin | Node | None
    closed: bool
    serial: int = 0
    is_dirt: bool = False


class BurstPool:
    """Bursts of a bounce one by one, drawn many at a time: whole microseconds after the first edge, rising."""

    def __init__(self, bounce: Bounce | None, seed: int) -> None:
        self._bounce = bounce
        self._random = np.random.default_rng(seed)
        self._pools: dict[bool, list[list[int]]] = {True: [], False: []}

    def next(self, closing: bool) -> list[int]:
        """Return the further edges of one stroke as it closes, or as it opens."""
        if self._bounce is None:
            return []
        pool = self._pools[closing]
        if not pool:
            drawn = self._bounce.bursts(POOL, closing, self._random)
            pool += [[] for _ in range(POOL)]
            for stroke, after_ns in zip(drawn.stroke.tolist(), drawn.after_ns.tolist(), strict=True):
                pool[stroke].append(after_ns // NS_PER_US)
        return sorted(pool.pop())


class Movement:
    """The edges to come of all contacts and loose joints, in order of time.

    `bounces` gives the bounce of each point's contacts; one that is missing is clean.
    """

    def __init__(self, wiring: Wiring, bounces: Mapping[str, Bounce], seed: int) -> None:
        self._contacts: list[Contact] = wiring.contacts
        self._flickers = wiring.flickers
        self._random = Random(seed)  # noqa: S311  # a repeatable game, no secret
        pools = {id(bounce): BurstPool(bounce, seed) for bounce in bounces.values()}
        clean = BurstPool(None, seed)
        self._bursts = [
            pools[id(bounces[contact.point])] if contact.point in bounces else clean for contact in wiring.contacts
        ]
        self._worked: dict[str, list[int]] = {}
        self._tapped: dict[str, list[int]] = {}
        for number, contact in enumerate(wiring.contacts):
            if contact.making is Making.FOLLOWS:
                self._worked.setdefault(contact.worked_by, []).append(number)
            self._tapped.setdefault(contact.point, []).append(number)
        self._held = [0] * len(self._contacts)
        self._serial = [0] * len(self._contacts)
        self._edges: list[Edge] = []
        self._count = 0
        for name, flicker in wiring.flickers.items():
            self._put_joint(self._until_break(flicker, first=True), name, False)

    def knows(self, point: str) -> bool:
        """Return whether a control moves any contact."""
        return point in self._worked

    def press(self, point: str, time_us: int) -> None:
        """Let a control's contacts move as it is pressed."""
        for number in self._worked.get(point, ()):
            self._move(number, time_us, True)

    def release(self, point: str, time_us: int) -> None:
        """Let them move back."""
        for number in self._worked.get(point, ()):
            self._move(number, time_us + self._contacts[number].lag_us, False)

    def spike(self, point: str, time_us: int, length_us: int) -> None:
        """Key a line for a moment, as if its contact had closed without a bounce; a contact that is held stays so."""
        for number in self._tapped.get(point, ())[:1]:
            if not self._held[number] and self._contacts[number].making is not Making.ALWAYS:
                rest = self._contacts[number].closed_at_rest
                self._put(time_us, number, not rest)
                self._put(time_us + length_us, number, rest)

    def next_us(self) -> int | None:
        """Return the time of the next edge."""
        return self._edges[0][0] if self._edges else None

    def take(self) -> Edge | None:
        """Return the next edge; None for one that is void."""
        edge = heappop(self._edges)
        if edge.joint is not None:
            self._go_on_flickering(edge.time_us, edge.joint, edge.closed)
            return edge
        if edge.contact is None or edge.serial != self._serial[edge.contact]:
            return None
        if edge.is_dirt:
            self._break(edge.contact, edge.time_us)
            return None
        return edge

    def _move(self, number: int, time_us: int, touched: bool) -> None:
        contact = self._contacts[number]
        self._held[number] = touched
        self._serial[number] += 1
        closed = touched != contact.closed_at_rest
        burst = self._bursts[number].next(closed)
        for after_us in (0, *burst):
            self._put(time_us + after_us, number, closed)
            closed = not closed
        if contact.chatters and touched:
            self._put(self._until_dirt(time_us + (burst[-1] if burst else 0)), number, False, is_dirt=True)

    def _until_dirt(self, now_us: int) -> int:
        return now_us + 1 + round(self._random.expovariate(1 / DIRTY_HELD_US))

    def _break(self, number: int, time_us: int) -> None:
        """Let a dirty contact that is held break for a moment."""
        rest = self._contacts[number].closed_at_rest
        end_us = time_us + self._random.randint(*DIRTY_BREAK_US)
        self._put(time_us, number, rest)
        self._put(end_us, number, not rest)
        self._put(self._until_dirt(end_us), number, False, is_dirt=True)

    def _until_break(self, flicker: Flicker, *, first: bool = False) -> int:
        if not flicker.regular:
            return 1 + round(self._random.expovariate(1 / flicker.period_us))
        return round(flicker.period_us * self._random.random()) if first else round(flicker.period_us - flicker.gap_us)

    def _go_on_flickering(self, time_us: int, name: Pin | Node, closed: bool) -> None:
        flicker = self._flickers[name]
        if closed:
            after_us = self._until_break(flicker)
        elif flicker.regular:
            after_us = round(flicker.gap_us)
        else:
            after_us = 1 + round(self._random.expovariate(1 / flicker.gap_us))
        self._put_joint(time_us + after_us, name, not closed)

    def _put(self, time_us: int, contact: int, closed: bool, *, is_dirt: bool = False) -> None:
        self._count += 1
        edge = Edge(time_us, self._count, contact, None, closed, self._serial[contact], is_dirt)
        heappush(self._edges, edge)

    def _put_joint(self, time_us: int, name: Pin | Node, closed: bool) -> None:
        self._count += 1
        heappush(self._edges, Edge(time_us, self._count, None, name, closed))
