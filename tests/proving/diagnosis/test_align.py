"""Laying a run beside what is expected of it, against every way of doing so."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from retrofit.proving.diagnosis.align import DOUBLED, STRAY, Heard, align, fit, neighbours

SKIPPED = 0.3
"""What leaving a contact out costs while presses are matched."""


def extra(heard: Sequence[Heard], j: int) -> float:
    """Return what a press that belongs to no contact costs."""
    return DOUBLED if j and heard[j - 1] & heard[j] else STRAY


def cheapest(expected: Sequence[Heard], heard: Sequence[Heard]) -> float:
    """Return the cost of the cheapest of all ways, by the whole table of edit distances (Wagner and Fischer, 1974)."""
    near = neighbours(expected)
    above = [0.0]
    for j in range(len(heard)):
        above.append(above[-1] + extra(heard, j))
    for i, want in enumerate(expected):
        row = [above[0] + SKIPPED]
        for j, got in enumerate(heard):
            row.append(min(above[j + 1] + SKIPPED, row[j] + extra(heard, j), above[j] + fit(want, got, near[i])))
        above = row
    return above[-1]


def drawn(random: Random, most: int) -> Heard:
    """Return a press of up to three of seven names."""
    return frozenset(random.sample("abcdefg", random.randint(1, most)))


def test_no_way_of_reading_a_run_is_cheaper() -> None:
    """Of 2,000 random runs each is read as cheaply as by the whole table, and in order."""
    random = Random(7)
    for _ in range(2000):
        expected = [drawn(random, 2) for _ in range(random.randint(1, 8))]
        heard = [drawn(random, 3) for _ in range(random.randint(0, 8))]
        found, near = align(expected, heard), neighbours(expected)
        pairs = [(i, j) for i, j in enumerate(found.answers) if j is not None]
        cost = SKIPPED * found.answers.count(None) + sum(extra(heard, j) for j in found.strays)
        cost += sum(fit(expected[i], heard[j], near[i]) for i, j in pairs)
        assert abs(cost - cheapest(expected, heard)) < 1e-9
        assert [j for _, j in pairs] == sorted({j for _, j in pairs})
        assert sorted([*(j for _, j in pairs), *found.strays]) == list(range(len(heard)))


def test_a_key_struck_twice_answers_once() -> None:
    """The second stroke of the same key is doubled, and costs less than one that belongs nowhere."""
    found = align([frozenset("a"), frozenset("b")], [frozenset("a"), frozenset("a"), frozenset("b")])
    assert (found.answers, found.strays, found.cost) == ((0, 2), (1,), DOUBLED)
