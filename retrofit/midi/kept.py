"""Recorded messages that stay: those of wired and proven divisions, unless a wish of their own says otherwise."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from retrofit.midi.defaults import wished_number
from retrofit.midi.recorded import recorded_messages
from retrofit.midi.uses import Use
from retrofit.survey.contacts import Group, KeyGroup
from retrofit.survey.instrument import Progress
from retrofit.survey.job import Job
from retrofit.survey.points import Point, PointKind
from retrofit.survey.wishes import MessageKind

_Namer = tuple[str, str]
"""Who names a channel: a group or a division, with its id."""


@dataclass(frozen=True)
class Kept:
    """What wired points go on sending, by point id, and everything that is recorded of any point, wired or not."""

    by_point: Mapping[str, Use]
    recorded: Mapping[str, Use]

    @property
    def reserved(self) -> frozenset[Use]:
        """What no point without a record may take by itself."""
        return frozenset(self.recorded.values())

    @property
    def recorded_channels(self) -> frozenset[int]:
        """Every channel on which something is recorded."""
        return frozenset(use.channel for use in self.recorded.values())

    @property
    def channels(self) -> frozenset[int]:
        """Every channel on which something stays."""
        return frozenset(use.channel for use in self.by_point.values())

    def channel_of(self, points: Iterable[str]) -> int | None:
        """Return the channel on which most of these points stay, the lowest of several; None when none of them does."""
        counts = Counter(self.by_point[point].channel for point in points if point in self.by_point)
        return min(counts, key=lambda channel: (-counts[channel], channel), default=None)


def kept_messages(job: Job, points: Sequence[Point]) -> Kept:
    """Return what stays; `points` are those that send something of their own."""
    recorded = recorded_messages(job)
    wired = wired_divisions(job)
    candidates = [point for point in points if point.division in wired and point.id in recorded]
    groups = {group.id: group for group in job.groups}
    firm = [point for point in candidates if _agrees(point, groups[point.group], recorded[point.id])]
    dropped = _against_their_channel(firm, job, groups, recorded) | _below_first_number(firm, groups, recorded)
    return Kept({point.id: recorded[point.id] for point in firm if point.id not in dropped}, recorded)


def wired_divisions(job: Job) -> frozenset[str]:
    """Return the divisions that are wired or proven."""
    return frozenset(division.id for division in job.divisions if division.progress is not Progress.PLANNED)


def _agrees(point: Point, group: Group, use: Use) -> bool:
    """Return whether a point's own wish, and its group's wish for a kind of message, allow what is recorded."""
    wish = wished_number(point.message)
    channel = point.channel if point.message is None or point.message.channel is None else point.message.channel
    if channel not in (None, use.channel):
        return False
    if wish is not None:
        return wish == (use.kind, use.number)
    if point.kind is PointKind.KEY:
        return point.note is not None and (use.kind, use.number) == (MessageKind.NOTE, point.note + point.transpose)
    kind = MessageKind.CONTROLLER if point.kind is PointKind.SHOE else group.wanted.message
    return kind in (None, use.kind)


def _against_their_channel(
    points: Sequence[Point], job: Job, groups: Mapping[str, Group], recorded: Mapping[str, Use]
) -> frozenset[str]:
    """Return points whose group or division names a channel on which nothing of it is recorded.

    One recorded message on the named channel shows that the wish was followed when the plan was recorded; the others
    then are where a full channel goes on.
    """
    named = {("division", division.id): division.channel for division in job.divisions}
    named |= {("group", group.id): group.wanted.channel for group in job.groups}
    of_namer: defaultdict[_Namer, list[Point]] = defaultdict(list)
    for point in points:
        if not _channel_of_its_own(point):
            of_namer[_namer(point, groups[point.group])].append(point)
    return frozenset(
        point.id
        for namer, members in of_namer.items()
        if named[namer] is not None and named[namer] not in {recorded[point.id].channel for point in members}
        for point in members
    )


def _namer(point: Point, group: Group) -> _Namer:
    """Return who names the channel of a point: its group where it names one for it, else its division."""
    of_own_division = not isinstance(group, KeyGroup) or point.division == group.division
    if group.wanted.channel is not None and of_own_division:
        return "group", group.id
    return "division", point.division


def _channel_of_its_own(point: Point) -> bool:
    return point.channel is not None or (point.message is not None and point.message.channel is not None)


def _below_first_number(
    points: Sequence[Point], groups: Mapping[str, Group], recorded: Mapping[str, Use]
) -> frozenset[str]:
    """Return points of groups whose wished first number lies above a number that is recorded of them."""
    positional = [p for p in points if p.kind is not PointKind.KEY and wished_number(p.message) is None]
    below = {point.group for point in positional if recorded[point.id].number < _first_number(groups[point.group])}
    return frozenset(point.id for point in positional if point.group in below)


def _first_number(group: Group) -> int:
    return group.wanted.first_number or 0
