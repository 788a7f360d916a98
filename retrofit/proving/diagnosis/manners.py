"""How contacts sound, apart from which of them: chatter, late release, hum, and a group that comes and goes as one."""

from __future__ import annotations

from collections import Counter
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
LATE_SHARE = 1.75
LATE_TIMES = 3
"""A key is said to let go late when it did so as often as this: anybody may hold one longer now and then."""
CHATTER_TIMES = 2
HUM_HZ = (50, 60, 100, 120)
"""The mains, and the mains rectified both ways (common practice, no source)."""
HUM_TOLERANCE = 0.01
HUM_ONS = 8
"""Fewer breaks than these fit more than one of the frequencies."""
MOST_PRESSES = 0.6
"""Part of a group's presses that must show a manner before the whole group is said to have it."""
FEWEST = 3


def manners(evidence: GroupEvidence) -> tuple[Cause, ...]:
    """Return what is wrong with the way in which a group's contacts sound."""
    strokes = [stroke for stroke in (*evidence.run, *evidence.asked) if len(stroke.heard) == 1]
    heard = [stroke.heard[0] for stroke in strokes if stroke.heard[0].point not in evidence.excused]
    if len(heard) < FEWEST:
        return ()
    rhythms = [hz for one in heard for hz in hum_hz(one)]
    if any(_most(rhythms.count(hz), len(heard)) for hz in HUM_HZ):
        return (Cause(Kind.HUM, (evidence.group,)),)
    chattering = [one for one in heard if _chatters(one)]
    if _most(len(chattering), len(heard)):
        return (Cause(Kind.FLICKER, (evidence.group,)),)
    if _overlaps(evidence.run):
        return (Cause(Kind.LATE, (evidence.group,)),)
    late = list(_late(heard))
    return (
        *(Cause(Kind.CHATTER, (point,)) for point, n in _always(heard, chattering).items() if n >= CHATTER_TIMES),
        *(Cause(Kind.LATE, (point,)) for point, n in _always(heard, late).items() if n >= LATE_TIMES),
    )


def hum_hz(heard: HeardPoint) -> tuple[int, ...]:
    """Return the frequencies of the mains at which a contact may have gone on and off while it was held.

    From the first on to the last off it had a period less than it had ons, and a part of one.
    """
    ons = heard.edges // 2
    if heard.off_us is None or ons < HUM_ONS or heard.off_us <= heard.on_us:
        return ()
    held_s = (heard.off_us - heard.on_us) * 1e-6
    least, most = (ons - 1) / held_s * (1 - HUM_TOLERANCE), ons / held_s * (1 + HUM_TOLERANCE)
    return tuple(hz for hz in HUM_HZ if least <= hz <= most)


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


def _always(heard: Sequence[HeardPoint], found: Sequence[HeardPoint]) -> dict[str, int]:
    """Return the contacts that show a manner every time they were heard, and how often that was."""
    times, shown = (Counter(one.point for one in ones) for ones in (heard, found))
    return {point: count for point, count in shown.items() if count == times[point]}


def too_seldom(evidence: GroupEvidence) -> tuple[str, ...]:
    """Return contacts that sounded badly each time they were heard, but not often enough: ask for them again."""
    heard = [one for stroke in (*evidence.run, *evidence.asked) for one in stroke.heard if len(stroke.heard) == 1]
    chattering = _always(heard, list(filter(_chatters, heard)))
    late = _always(heard, list(_late(heard)))
    again = {point for point, count in chattering.items() if count < CHATTER_TIMES}
    return tuple(sorted(again | {point for point, count in late.items() if count < LATE_TIMES}))
