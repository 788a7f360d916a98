"""Which points were heard out of order: either they were played so, or their wires lie elsewhere than planned."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from typing import TypeVar

Item = TypeVar("Item")


def out_of_order(places: Sequence[int]) -> list[int]:
    """Return, rising, the places that are not in a longest rising part of a sequence of different places."""
    lasts: list[int] = []
    length_at = []
    for place in places:
        at = bisect_left(lasts, place)
        lasts[at : at + 1] = [place]
        length_at.append(at)
    kept: set[int] = set()
    wanted = len(lasts) - 1
    for place, length in zip(reversed(places), reversed(length_at), strict=True):
        if length == wanted and (not kept or place < min(kept)):
            kept.add(place)
            wanted -= 1
    return sorted(set(places) - kept)


def spread(items: Sequence[Item], most: int) -> list[Item]:
    """Return at most so many of the items, evenly spread, the first among them."""
    if len(items) <= most:
        return list(items)
    return [items[place * len(items) // most] for place in range(most)]
