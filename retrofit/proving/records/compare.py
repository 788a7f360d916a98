"""Two visits compared: which contacts have become worse, and whether the instrument is as it was found."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import log10

from retrofit.proving.records.rows import PointRow, ReadingRow

BOUNCES_APART = 2
"""A difference of so many is not spoken of, for no two strokes bounce alike (common practice, no source)."""
BOUNCE_US_APART = 2_000
"""The same of its longest bounce."""


@dataclass(frozen=True, slots=True)
class PointChange:
    """How a point changed between two visits; `worse` tells in which direction."""

    point: str
    words: str
    worse: bool
    said: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """What two visits differ in; `limits` say what was not spoken of, `unmatched` are points of one visit alone."""

    changes: tuple[PointChange, ...]
    unmatched: tuple[str, ...]
    limits: tuple[str, ...]


def compared(before: Iterable[PointRow], after: Iterable[PointRow]) -> Comparison:
    """Compare two visits point by point; what was not tried at one of them is not compared."""
    first, second = ({row.point: row for row in rows} for rows in (before, after))
    both = [point for point in second if point in first]
    return Comparison(
        tuple(change for point in both for change in _changes(first[point], second[point])),
        tuple(sorted(first.keys() ^ second.keys())),
        (
            f"differences of up to {BOUNCES_APART} bounces, or {BOUNCE_US_APART / 1000:g} ms, are not spoken of",
            "a contact that was struck fewer times has had fewer chances to bounce",
        ),
    )


def _changes(before: PointRow, after: PointRow) -> Iterator[PointChange]:
    words = after.words
    judged = {"passed", "failed"}
    if before.verdict != after.verdict and {before.verdict, after.verdict} <= judged:
        worse = after.verdict == "failed"
        yield PointChange(after.point, words, worse, f"{words} {before.verdict} then, and {after.verdict} now")
    if not (before.strokes and after.strokes):
        return
    if abs(after.bounces - before.bounces) > BOUNCES_APART:
        yield PointChange(
            after.point,
            words,
            after.bounces > before.bounces,
            f"{words} went from {before.bounces} to {after.bounces} bounces "
            f"({before.strokes} and {after.strokes} strokes)",
        )
    if abs(after.longest_bounce_us - before.longest_bounce_us) > BOUNCE_US_APART:
        yield PointChange(
            after.point,
            words,
            after.longest_bounce_us > before.longest_bounce_us,
            f"{words} went from {before.longest_bounce_us / 1000:.1f} to {after.longest_bounce_us / 1000:.1f} ms of "
            "bounce",
        )


class Quantity(StrEnum):
    """What is read before and after the work to see that the instrument is as it was found."""

    SUPPLY = "supply"
    DECAY = "decay"
    HUM = "hum"


@dataclass(frozen=True, slots=True)
class AsFoundLimit:
    """How far a reading may have moved: so many parts of its first value, or decibels."""

    most: float
    unit: str


AS_FOUND_LIMITS = {
    Quantity.SUPPLY: AsFoundLimit(0.01, "V"),
    Quantity.DECAY: AsFoundLimit(0.05, "ms"),
    Quantity.HUM: AsFoundLimit(3.0, "mV"),
}
"""Acceptance limits of the plan: supply 1 %, decay 5 % (as loads of the organ's lines), hum 3 dB (common practice,
no source)."""


@dataclass(frozen=True, slots=True)
class ReadingChange:
    """A reading before and after, how far apart they are, and how far they may be, in words."""

    what: str
    place: str
    before: float
    after: float
    unit: str
    difference: str
    allowed: str
    passes: bool


def readings_compared(before: Iterable[ReadingRow], after: Iterable[ReadingRow]) -> tuple[ReadingChange, ...]:
    """Return every reading that was taken both before and after; what was read once alone is not judged."""
    first = {(row.what, row.place): row for row in before}
    pairs = ((first[(row.what, row.place)], row) for row in after if (row.what, row.place) in first)
    return tuple(_reading_change(then, now) for then, now in pairs)


def _reading_change(then: ReadingRow, now: ReadingRow) -> ReadingChange:
    quantity = Quantity(now.what)
    limit = AS_FOUND_LIMITS[quantity]
    if quantity is Quantity.HUM:
        moved = 20 * log10(now.value / then.value)
        difference, allowed, passes = f"{moved:+.1f} dB", f"at most +{limit.most:g} dB", moved <= limit.most
    else:
        part = (now.value - then.value) / then.value
        difference, allowed = f"{part:+.2%}", f"within {limit.most:.0%}"
        passes = abs(part) <= limit.most
    return ReadingChange(now.what, now.place, then.value, now.value, now.unit, difference, allowed, passes)
