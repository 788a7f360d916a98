"""Which channel each division has, and which channels are left over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from retrofit.midi.assignment import AssignmentNote, NoteCode
from retrofit.midi.kept import Kept
from retrofit.midi.ledger import first_unrecorded
from retrofit.survey.contacts import Group, KeyGroup, RollerGroup
from retrofit.survey.instrument import Division
from retrofit.survey.job import Job
from retrofit.survey.points import Point


@dataclass(frozen=True)
class ChannelShare:
    """Channels by division id, the unused channels in rising order, and notes on divisions that got none."""

    by_division: dict[str, int]
    spare: tuple[int, ...]
    notes: tuple[AssignmentNote, ...]


def share_channels(job: Job, points: Sequence[Point], kept: Kept) -> ChannelShare:
    """Give each division a channel: the one that the job names, else the one on which its wired points stay.

    The others get the lowest free one in the file's order; a division of which nothing is recorded passes over the
    channels that hold records.  Channels to be skipped (channel 10 is percussion in General MIDI), those named
    anywhere in the job and those on which something stays are never given away on their own.
    """
    closed = {*job.wanted.skip_channels, *named_channels(job), *kept.channels}
    spare = [channel for channel in range(1, 17) if channel not in closed]
    ids = _points_of_divisions(points)
    settled = {division.id: division.channel or kept.channel_of(ids[division.id]) for division in job.divisions}
    for division in job.divisions:
        if settled[division.id] is None and spare:
            is_recorded = any(point in kept.recorded for point in ids[division.id])
            channel = spare[0] if is_recorded else first_unrecorded(spare, kept.recorded_channels)
            settled[division.id] = channel
            spare.remove(channel)
    by_division = {division: channel for division, channel in settled.items() if channel is not None}
    without = tuple(_without(division, job) for division in job.divisions if division.id not in by_division)
    return ChannelShare(by_division, tuple(spare), without)


def _points_of_divisions(points: Sequence[Point]) -> defaultdict[str, list[str]]:
    ids: defaultdict[str, list[str]] = defaultdict(list)
    for point in points:
        ids[point.division].append(point.id)
    return ids


def named_channels(job: Job) -> Iterator[int]:
    """Yield every channel that the job names: of divisions, groups, sets of contacts and single points."""
    yield from (division.channel for division in job.divisions if division.channel is not None)
    for group in job.groups:
        yield from (channel for channel in _group_channels(group) if channel is not None)


def _group_channels(group: Group) -> Iterator[int | None]:
    yield group.wanted.channel
    messages = [group.message] if isinstance(group, RollerGroup) else [point.message for point in group.points]
    yield from (message.channel for message in messages if message is not None)
    if isinstance(group, KeyGroup):
        yield from (contact.channel for contact in group.contacts)


def _without(division: Division, job: Job) -> AssignmentNote:
    skipped = ", ".join(str(channel) for channel in sorted(set(job.wanted.skip_channels))) or "none"
    return AssignmentNote(
        NoteCode.CHANNELS_RUN_OUT,
        division.id,
        None,
        f"no channel is left for division {division.id}",
        f"MIDI has 16 channels, of which the job skips {skipped} and names others itself",
        "give the division a channel that it may share, or skip fewer channels",
    )
