"""How contacts sound, apart from which of them: chatter, late release, hum, and a group that comes and goes as one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from statistics import median

from retrofit.proving.diagnosis.causes import Cause, Kind
from retrofit.proving.evidence import GroupEvidence, HeardPoint, Stroke

CHATTER_EDGES = 4
"""A clean press has two edges, a worn one four; more, spread over longer than bounce lasts, is chatter.

Common practice, no source.
"""
CHATTER_US = 8_000
LATE_US = 50_000
"""A release is late when the contact stays on so much longer than the keys around it.  Common practice, no source."""
LATE_SHARE = 3.0
HUM_HZ = (50.0, 60.0, 100.0, 120.0)
HUM_TOLERANCE = 0.04
HUM_EDGES = 12
MOST_PRESSES = 0.6
"""Part of a group's presses that must show a manner before the whole group is said to have it."""
FEWEST = 3


def manners(evidence: GroupEvidence) -> tuple[Cause, ...]:
    """Return what is wrong with the way in which a group's contacts sound."""
    strokes = [stroke for stroke in (*evidence.run, *evidence.asked) if len(stroke.heard) == 1]
    heard = [stroke.heard[0] for stroke in strokes if stroke.heard[0].point not in evidence.excused]
    if len(heard) < FEWEST:
        return ()
    humming = [one for one in heard if hum_hz(one) is not None]
    if _most(len(humming), len(heard)):
        return (Cause(Kind.HUM, (evidence.group,)),)
    chattering = [one for one in heard if _chatters(one)]
    if _most(len(chattering), len(heard)):
        return (Cause(Kind.FLICKER, (evidence.group,)),)
    if _overlaps(evidence.run):
        return (Cause(Kind.LATE, (evidence.group,)),)
    return (*_each(Kind.CHATTER, heard, chattering), *_each(Kind.LATE, heard, list(_late(heard))))


def hum_hz(heard: HeardPoint) -> float | None:
    """Return the rhythm of the mains at which a contact goes on and off while it is held, or None."""
    if heard.off_us is None or heard.edges < HUM_EDGES or heard.off_us <= heard.on_us:
        return None
    hz = heard.edges / 2 / ((heard.off_us - heard.on_us) * 1e-6)
    return next((mains for mains in HUM_HZ if abs(hz - mains) <= HUM_TOLERANCE * mains), None)


def _most(some: int, every: int) -> bool:
    return some >= FEWEST and some > MOST_PRESSES * every


def _chatters(heard: HeardPoint) -> bool:
    return heard.edges > CHATTER_EDGES and heard.off_us is not None and heard.off_us - heard.on_us > CHATTER_US


def _late(heard: Sequence[HeardPoint]) -> Iterator[HeardPoint]:
    lasted = [one.off_us - one.on_us for one in heard if one.off_us is not None]
    usual = median(lasted) if lasted else 0
    for one in heard:
        if one.off_us is not None and one.off_us - one.on_us > max(LATE_SHARE * usual, usual + LATE_US):
            yield one


def _overlaps(run: Sequence[Stroke]) -> bool:
    """Return whether most contacts of a detached run still sound when the next one is struck."""
    singles = [stroke.heard[0] for stroke in run if len(stroke.heard) == 1]
    over = sum(one.off_us is not None and one.off_us - after.on_us > LATE_US for one, after in pairwise(singles))
    return _most(over, len(singles) - 1)


def _each(kind: Kind, heard: Sequence[HeardPoint], found: Sequence[HeardPoint]) -> Iterator[Cause]:
    """Yield the contacts that show a manner every time they were heard, and at least twice."""
    for point in dict.fromkeys(one.point for one in found):
        times = sum(one.point == point for one in heard)
        if times >= 2 and times == sum(one.point == point for one in found):
            yield Cause(kind, (point,))


def once_only(evidence: GroupEvidence) -> tuple[str, ...]:
    """Return contacts that sounded badly the only time they were heard: ask for them again."""
    heard = [one for stroke in (*evidence.run, *evidence.asked) for one in stroke.heard if len(stroke.heard) == 1]
    bad = {one.point for one in (*filter(_chatters, heard), *_late(heard))}
    return tuple(point for point in sorted(bad) if sum(one.point == point for one in heard) == 1)
