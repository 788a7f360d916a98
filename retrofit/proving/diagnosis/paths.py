"""Ways of current through closed contacts and their diodes, counted in diode drops."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Sequence
from functools import cached_property
from typing import NamedTuple

Node = Hashable
"""A piece of metal: all that hangs together without a contact."""


class Link(NamedTuple):
    """A closed contact between two nodes, with its diode drops each way."""

    line: Node
    bus: Node
    forth: int | None
    back: int | None


class Paths:
    """The fewest drops on the ways of current from a node, and to it."""

    def __init__(self, links: Collection[Link], start: Node) -> None:
        self._links, self._start = links, start

    @cached_property
    def outward(self) -> dict[Node, int]:
        """Every node that current from here finds, with the drops on the way."""
        forth = [(link.line, link.bus, link.forth) for link in self._links if link.forth is not None]
        return _reached(self._start, forth + [(k.bus, k.line, k.back) for k in self._links if k.back is not None])

    @cached_property
    def inward(self) -> dict[Node, int]:
        """Every node from which current finds its way here, with the drops on the way."""
        forth = [(link.bus, link.line, link.forth) for link in self._links if link.forth is not None]
        return _reached(self._start, forth + [(k.line, k.bus, k.back) for k in self._links if k.back is not None])


def _reached(start: Node, steps: Sequence[tuple[Node, Node, int]]) -> dict[Node, int]:
    fewest = {start: 0}
    waiting = [start]
    while waiting:
        here = waiting.pop()
        for one, other, drops in steps:
            if one == here and fewest[here] + drops < fewest.get(other, 1_000):
                fewest[other] = fewest[here] + drops
                waiting.append(other)
    return fewest


def fewest_drops(reached: dict[Node, int], ends: Iterable[Node]) -> int | None:
    """Return the fewest drops to any of some ends, or None."""
    return min((reached[end] for end in ends if end in reached), default=None)


def standing(
    links: Collection[Link], low: Collection[Node], high: Collection[Node], rails: Collection[Node]
) -> tuple[frozenset[Node], frozenset[Node]]:
    """Return the low and the high ends that keep their level: a driver that meets one of the other level has neither.

    A rail always keeps its own.
    """
    low, high = frozenset(low), frozenset(high)
    if not any(link.back is not None or link.line in rails for link in links):
        return low, high
    driven = {node for link in links for node in (link.line, link.bus)}.difference(rails)
    lifted = {end for end in low & driven if not high.isdisjoint(Paths(links, end).inward)}
    lowered = {end for end in high & driven if not low.isdisjoint(Paths(links, end).outward)}
    return low - lifted, high - lowered


def wins(towards: int | None, against: int | None, drops: int) -> bool:
    """Return whether an input is keyed: its way to what keys it is good, and better than the one to the other level."""
    return towards is not None and towards <= drops and (against is None or towards < against)
