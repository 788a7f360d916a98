"""A run that was heard beside the run that is expected: which press was which contact's.

The costs are about how many nats rarer each thing is than a key struck as it should be.  Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from typing import NamedTuple

Heard = frozenset[str]
MISSED = 1.0
"""A contact that was left out, or was not heard."""
DOUBLED = 1.5
"""The press before once more."""
BRUSHED = 3.0
"""A neighbour touched along with the key."""
STRAY = 4.0
"""A press that belongs to none of the contacts left."""
HALF = 8.0
"""Only some of what a press should let hear."""
MOST_MISSED = 6.0
"""All that contacts left out cost together: a person may leave out any number, so that proves nothing."""
_SKIPPED = 0.3
"""What a contact left out costs while presses are matched; what it costs in the end is limited."""
_FAR = 1e9


class Alignment(NamedTuple):
    """What a run comes to: its cost, the press (or None) that answers each contact, and the presses of none."""

    cost: float
    answers: tuple[int | None, ...]
    strays: tuple[int, ...]


def fit(expected: Heard, heard: Heard, near: Heard) -> float:
    """Return what it costs to take a press for a contact's; `near` is what its neighbours let hear."""
    if expected == heard:
        return 0.0
    if expected < heard:
        return BRUSHED if heard - expected <= near else HALF
    return HALF if expected & heard else _FAR


def neighbours(expected: Sequence[Heard]) -> list[Heard]:
    """Return what the contacts beside each let hear."""
    sides = [frozenset(), *expected, frozenset()]
    return [sides[i] | sides[i + 2] for i in range(len(expected))]


class _Match(NamedTuple):
    """A press taken for a contact's, and the match before it; `saved` is what they all save."""

    saved: float
    contact: int
    press: int
    before: _Match | None


def align(expected: Sequence[Heard], heard: Sequence[Heard]) -> Alignment:
    """Return the cheapest way to read a run: the chain of matches, rising in contacts and presses, that saves most."""
    near = neighbours(expected)
    answers: list[int | None] = [None] * len(expected)
    match = _best_chain(expected, heard, near)
    while match is not None:
        answers[match.contact] = match.press
        match = match.before
    taken = set(answers)
    strays = tuple(j for j in range(len(heard)) if j not in taken)
    return Alignment(_cost(expected, heard, near, answers, strays), tuple(answers), strays)


def _best_chain(expected: Sequence[Heard], heard: Sequence[Heard], near: Sequence[Heard]) -> _Match | None:
    """Return the last match of the best chain, or None where nothing matches.

    `ends` are the contacts at which the best chains so far end, rising, each chain saving more than those before it.
    """
    where = _contacts_of(expected)
    ends: list[int] = []
    chains: list[_Match] = []
    for j, got in enumerate(heard):
        for i, saved in _matches(expected, near, where, got, _extra(heard, j)):
            at = bisect_left(ends, i)
            before = chains[at - 1] if at else None
            match = _Match(saved + (before.saved if before else 0.0), i, j, before)
            if at < len(ends) and ends[at] == i and chains[at].saved >= match.saved:
                continue
            last = at
            while last < len(ends) and chains[last].saved <= match.saved:
                last += 1
            ends[at:last], chains[at:last] = [i], [match]
    return chains[-1] if chains else None


def _contacts_of(expected: Sequence[Heard]) -> dict[str, list[int]]:
    """Return which contacts are expected to let each name be heard."""
    found: dict[str, list[int]] = {}
    for i, want in enumerate(expected):
        for name in want:
            found.setdefault(name, []).append(i)
    return found


def _matches(
    expected: Sequence[Heard], near: Sequence[Heard], where: dict[str, list[int]], got: Heard, extra: float
) -> Iterator[tuple[int, float]]:
    """Yield, from the last on, the contacts for whose press this one is worth taking, and what that saves."""
    for i in sorted({i for name in got for i in where.get(name, ())}, reverse=True):
        saved = _SKIPPED + extra - fit(expected[i], got, near[i])
        if saved > 0.0:
            yield i, saved


def _cost(
    expected: Sequence[Heard],
    heard: Sequence[Heard],
    near: Sequence[Heard],
    answers: Sequence[int | None],
    strays: Sequence[int],
) -> float:
    missed = sum(MISSED for i, j in enumerate(answers) if j is None and expected[i])
    wrong = sum(fit(expected[i], heard[j], near[i]) for i, j in enumerate(answers) if j is not None)
    return min(missed, MOST_MISSED) + wrong + sum(_extra(heard, j) for j in strays)


def _extra(heard: Sequence[Heard], j: int) -> float:
    return DOUBLED if j and heard[j - 1] & heard[j] else STRAY
