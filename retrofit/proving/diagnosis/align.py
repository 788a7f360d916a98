"""A run that was heard beside the run that is expected: which press was which contact's.

The costs are about how many nats rarer each thing is than a key struck as it should be.  Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
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


def align(expected: Sequence[Heard], heard: Sequence[Heard], most: float = _FAR) -> Alignment | None:
    """Return the cheapest way to read a run, or None when it costs more than `most` (contacts left out apart)."""
    near = neighbours(expected)
    begin = 0
    while begin < min(len(expected), len(heard)) and expected[begin] == heard[begin]:
        begin += 1
    end = 0
    while end < min(len(expected), len(heard)) - begin and expected[-1 - end] == heard[-1 - end]:
        end += 1
    answers: list[int | None] = [*range(begin), *[None] * (len(expected) - begin - end)]
    answers += range(len(heard) - end, len(heard))
    middle = _middle(expected, heard, near, (begin, len(expected) - end, len(heard) - end), most)
    if middle is None:
        return None
    strays: list[int] = []
    for i, j in middle:
        if i is None:
            strays.append(j if j is not None else 0)
        else:
            answers[i] = j
    return Alignment(_cost(expected, heard, near, answers, strays), tuple(answers), tuple(strays))


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


def _middle(
    expected: Sequence[Heard],
    heard: Sequence[Heard],
    near: Sequence[Heard],
    span: tuple[int, int, int],
    most: float,
) -> list[tuple[int | None, int | None]] | None:
    """Return the steps between the parts that agree by themselves: pairs of contact and press, either may be None."""
    begin, last, last_heard = span
    extra = [_extra(heard, j) for j in range(begin, last_heard)]
    row = [0.0]
    for cost in extra:
        row.append(row[-1] + cost)
    back: list[list[int]] = []
    for i in range(begin, last):
        want, beside, missed = expected[i], near[i], _SKIPPED if expected[i] else 0.0
        above, row, ways = row, [row[0] + missed], [0]
        for j, cost in enumerate(extra):
            best, way = above[j + 1] + missed, 0
            if (other := row[j] + cost) < best:
                best, way = other, 1
            got = heard[begin + j]
            if want == got or not want.isdisjoint(got):
                other = above[j] + fit(want, got, beside)
                if other < best:
                    best, way = other, 2
            row.append(best)
            ways.append(way)
        back.append(ways)
        if min(row) - _SKIPPED * (i + 1 - begin) > most:
            return None
    return _steps(back, begin, len(extra))


def _steps(back: Sequence[Sequence[int]], begin: int, columns: int) -> list[tuple[int | None, int | None]]:
    steps: list[tuple[int | None, int | None]] = []
    i, j = len(back), columns
    while i or j:
        way = back[i - 1][j] if i else 1
        if way == 0:
            i -= 1
            steps.append((begin + i, None))
        elif way == 1:
            j -= 1
            steps.append((None, begin + j))
        else:
            i, j = i - 1, j - 1
            steps.append((begin + i, begin + j))
    return steps[::-1]
