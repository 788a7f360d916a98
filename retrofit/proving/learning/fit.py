"""The order of a run laid against the keys, held in place by the keys that were pressed by name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from retrofit.proving.learning.order import Blocks


class _Part(NamedTuple):
    """Neighbouring keys and the blocks of places that are theirs; keys may be left over."""

    keys: tuple[str, ...]
    blocks: Blocks

    @property
    def missing(self) -> int:
        """How many of the keys the run did not let hear."""
        return len(self.keys) - sum(map(len, self.blocks))


class Fit:
    """The order cut into parts at every pinned key whose place in the order is certain.

    `pins` leads from keys to places that were heard in the run.  `contradicting` are the pinned keys that do not fit
    the order; while there are any, or the order is `broken`, nothing follows from it.  `loose` are those pins whose
    place lies in a block of uncertain order.
    """

    def __init__(self, keys: Sequence[str], order: Blocks, pins: Mapping[str, str]) -> None:
        self.pins = pins
        number = {block[0]: index for index, block in enumerate(order) if len(block) == 1}
        cuts = [(key, number[pins[key]]) for key in keys if key in pins and pins[key] in number]
        self.loose = {key: place for key, place in pins.items() if place not in number}
        crossed = {key for one, other in pairwise(cuts) if one[1] > other[1] for key in (one[0], other[0])}
        self.contradicting: set[str] = crossed
        self.broken = bool(crossed)
        self._parts: list[_Part] = []
        if not crossed:
            for keys_between, blocks, ends in _between(keys, order, cuts):
                self._add(keys_between, blocks, ends)

    def _add(self, keys: Sequence[str], blocks: Blocks, ends: Iterable[str]) -> None:
        """Add a part; the pinned keys whose place lies within a block are settled, and leave it."""
        own = {key: self.loose[key] for key in keys if key in self.loose}
        there = {place for block in blocks for place in block}
        part = _Part(tuple(key for key in keys if key not in own), without(blocks, set(own.values())))
        if part.missing < 0 or not there >= set(own.values()):
            self.contradicting |= {*ends, *own}
            self.broken = True
        self._parts.append(part)

    def settled(self) -> Iterator[tuple[str, str]]:
        """Yield every key whose place follows from the order, with the place."""
        for part in self._parts:
            if part.missing == 0 and not self.broken:
                yield from ((keys[0], block[0]) for keys, block in _aligned(part) if len(block) == 1)

    def questions(self) -> Iterator[str]:
        """Yield the keys to ask for: one for each part that is open, all of a part that was not heard at all."""
        for part in self._parts:
            if part.missing == 0:
                yield from (keys[0] for keys, block in _aligned(part) if len(block) > 1)
            elif part.blocks:
                yield part.keys[len(part.keys) // 2]
            else:
                yield from part.keys


def without(order: Blocks, places: set[str]) -> Blocks:
    """Return an order without some places."""
    left = (tuple(place for place in block if place not in places) for block in order)
    return tuple(block for block in left if block)


def _aligned(part: _Part) -> Iterator[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Yield each block of a part with as many keys."""
    at = 0
    for block in part.blocks:
        yield part.keys[at : at + len(block)], block
        at += len(block)


def _between(
    keys: Sequence[str], order: Blocks, cuts: Sequence[tuple[str, int]]
) -> Iterator[tuple[Sequence[str], Blocks, list[str]]]:
    """Yield the keys and blocks between one cut and the next, and the cuts' keys."""
    number = {key: index for index, key in enumerate(keys)}
    marks = [("", -1, -1), *((key, number[key], block) for key, block in cuts), ("", len(keys), len(order))]
    for (one, key, block), (other, next_key, next_block) in pairwise(marks):
        yield keys[key + 1 : next_key], order[block + 1 : next_block], [end for end in (one, other) if end]
