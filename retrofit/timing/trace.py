"""A contact over continuous time, and what a debounce makes of it when it is sampled."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from typing import Protocol


class Sampler(Protocol):
    """A debounce that takes samples one by one."""

    def sample(self, level: bool) -> bool | None:
        """Take one sample; return the new state when it changes, else None."""


def level_at(edges: Sequence[float], time: float) -> bool:
    """Return the level of a contact that rests open and changes at each of the rising times in `edges`.

    A sample taken at the very time of an edge sees the level after it.
    """
    return bisect_right(edges, time) % 2 == 1


def events(debounce: Sampler, edges: Sequence[float], sample_times: Iterable[float]) -> list[tuple[float, bool]]:
    """Return the time and new state of every change that the debounce reports for a contact sampled at these times."""
    found = []
    for time in sample_times:
        change = debounce.sample(level_at(edges, time))
        if change is not None:
            found.append((time, change))
    return found
