"""What single presses of one key say: every press is a vote for each place that it let hear, or for silence.

Whoever is asked for a key may brush its neighbour or touch it too lightly; so a key is taken to be what leads.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

SILENT = ""
"""Stands for silence among the places."""
LEADS = {True: 2, False: 1}
"""By how many votes silence has to lead, and by how many a place; a key known as dead is silent by one."""
LEAD_SURE = 3
"""By how many votes has to lead whatever disagrees with something else."""
PRESSES_MOST = 8
"""A key that was asked for so often, and nothing leads, never speaks alone."""


class AskedPress(NamedTuple):
    """A press that was asked for by name, and the places that it let hear; none when nothing came."""

    key: str
    places: frozenset[str]


@dataclass(frozen=True, slots=True)
class Verdict:
    """What leads for a key: a place, `SILENT`, or None while nothing does; by how much, and all that was heard."""

    place: str | None = None
    lead: int = 0
    presses: int = 0
    heard: frozenset[str] = frozenset()

    @property
    def is_hopeless(self) -> bool:
        """Whether further presses would not help."""
        return self.presses >= PRESSES_MOST


def verdict_of(presses: Sequence[frozenset[str]], is_dead: bool) -> Verdict:
    """Return what the presses of one key say; `is_dead` for a key known as dead."""
    votes = Counter(place for places in presses for place in (places or {SILENT}))
    heard = frozenset(votes) - {SILENT}
    if not votes:
        return Verdict()
    (first, most), *others = votes.most_common(2)
    lead = most - (others[0][1] if others else 0)
    needed = 1 if is_dead else LEADS[first == SILENT]
    return Verdict(first if lead >= needed else None, lead, len(presses), heard)


def verdicts(keys: Iterable[str], asked: Sequence[AskedPress], dead: frozenset[str]) -> dict[str, Verdict]:
    """Return what is said of each key."""
    by_key: dict[str, list[frozenset[str]]] = {key: [] for key in keys}
    for press in asked:
        if press.key in by_key:
            by_key[press.key].append(press.places)
    return {key: verdict_of(presses, key in dead) for key, presses in by_key.items()}
