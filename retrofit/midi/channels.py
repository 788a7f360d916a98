"""Which channel each division has, and which channels are left over."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from retrofit.midi.assignment import AssignmentNote, NoteCode
from retrofit.survey.contacts import Group, KeyGroup, RollerGroup
from retrofit.survey.instrument import Division
from retrofit.survey.job import Job


@dataclass(frozen=True)
class ChannelShare:
    """Channels by division id, the unused channels in rising order, and notes on divisions that got none."""

    by_division: dict[str, int]
    spare: tuple[int, ...]
    notes: tuple[AssignmentNote, ...]


def share_channels(job: Job) -> ChannelShare:
    """Give each division its own channel where the job names one, else the lowest free one in the file's order.

    Channels to be skipped (channel 10 is percussion in General MIDI) and channels named anywhere in the job are never
    given away on their own.
    """
    closed = set(job.wanted.skip_channels) | set(named_channels(job))
    spare = [channel for channel in range(1, 17) if channel not in closed]
    by_division = {division.id: division.channel for division in job.divisions if division.channel is not None}
    waiting = [division for division in job.divisions if division.channel is None]
    by_division.update({division.id: channel for division, channel in zip(waiting, spare, strict=False)})
    without = waiting[len(spare) :]
    in_order = {division.id: by_division[division.id] for division in job.divisions if division.id in by_division}
    return ChannelShare(in_order, tuple(spare[len(waiting) :]), tuple(_without(division, job) for division in without))


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
