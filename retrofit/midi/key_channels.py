"""The channel of each set of key contacts, such that no two sets of a division play the same note on one channel."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from retrofit.midi.assignment import AssignmentNote, NoteCode
from retrofit.midi.kept import Kept
from retrofit.midi.ledger import Ledger
from retrofit.survey.contacts import KeyContact, KeyGroup
from retrofit.survey.job import Job
from retrofit.survey.points import Point, PointKind, key_contacts
from retrofit.survey.wishes import MessageKind

_KeySet = tuple[str, int]
"""A group's id and the index of one of its sets of contacts."""


@dataclass(frozen=True)
class KeyChannels:
    """Channels by point id; a key whose set of contacts got none is missing, and a note says so."""

    by_point: dict[str, int]
    notes: tuple[AssignmentNote, ...]


def key_channels(
    job: Job, points: Iterable[Point], by_division: dict[str, int], ledger: Ledger, kept: Kept
) -> KeyChannels:
    """Give each set of key contacts a channel: that on which it stays, else its own, its group's, its division's.

    Where the division already plays one of its notes there, or a new set would play a note that is recorded, the set
    gets a fresh channel, because a receiver could not tell the two contacts apart.  Sets that stay choose first, and
    then first contacts before second ones.
    """
    points_of = _points_by_set(job, points)
    stays = {key_set: kept.channel_of(_ids(keys)) for key_set, keys in points_of.items()}
    played: dict[tuple[str, int], set[int]] = {}
    by_point: dict[str, int] = {}
    remarks: list[AssignmentNote] = []
    for group, index, contact in _in_order_of_choice(job, stays):
        wired = stays.get((group.id, index))
        home = wired or _home(group, contact, by_division)
        if home is None:
            continue
        division = contact.division or group.division
        keys = points_of[group.id, index]
        recorded = any(point in kept.recorded for point in _ids(keys))
        occupied = played.get((division, home), set()) | (set() if recorded else _recorded_notes(home, kept))
        channel: int | None = home
        if wired is None and not _named(group, index, contact) and occupied & keys.keys():
            channel = ledger.fresh_channel(recorded=recorded)
            remarks.append(_moved(group, contact, home, channel))
        if channel is not None:
            by_point.update((point, channel) for point in _ids(keys))
            played.setdefault((division, channel), set()).update(keys)
    return KeyChannels(by_point, tuple(remarks))


def _ids(keys: Mapping[int, list[str]]) -> list[str]:
    return [point for points in keys.values() for point in points]


def _recorded_notes(channel: int, kept: Kept) -> set[int]:
    return {use.number for use in kept.reserved if (use.channel, use.kind) == (channel, MessageKind.NOTE)}


def _points_by_set(job: Job, points: Iterable[Point]) -> defaultdict[_KeySet, dict[int, list[str]]]:
    """Return, for each set of contacts, the ids of its points by the note that they play."""
    sizes = {group.id: len(key_contacts(group)) for group in job.groups if isinstance(group, KeyGroup)}
    found: defaultdict[_KeySet, dict[int, list[str]]] = defaultdict(dict)
    for point in points:
        if point.kind is PointKind.KEY and point.note is not None:
            keys = found[point.group, point.position // sizes[point.group]]
            keys.setdefault(point.note + point.transpose, []).append(point.id)
    return found


def _in_order_of_choice(job: Job, stays: Mapping[_KeySet, int | None]) -> list[tuple[KeyGroup, int, KeyContact]]:
    sets = [
        (group, index, contact)
        for group in job.groups
        if isinstance(group, KeyGroup)
        for index, contact in enumerate(group.contacts)
    ]
    return sorted(sets, key=lambda one: (stays.get((one[0].id, one[1])) is None, one[1] > 0))


def _home(group: KeyGroup, contact: KeyContact, by_division: dict[str, int]) -> int | None:
    own_division = contact.division or group.division
    if contact.channel is not None:
        return contact.channel
    if group.wanted.channel is not None and own_division == group.division:
        return group.wanted.channel
    return by_division.get(own_division)


def _named(group: KeyGroup, index: int, contact: KeyContact) -> bool:
    """Tell whether the job names the channel of this very set, so that it stays there whatever happens."""
    return contact.channel is not None or (index == 0 and group.wanted.channel is not None)


def _moved(group: KeyGroup, contact: KeyContact, home: int, channel: int | None) -> AssignmentNote:
    found = f"the contacts {contact.id!r} of {group.id} play notes that channel {home} already has"
    allowed = "two contacts that send the same note on one channel cut each other off"
    if channel is None:
        return AssignmentNote(
            NoteCode.CHANNELS_RUN_OUT,
            group.id,
            home,
            f"{found}, and no channel is left",
            allowed,
            "give these contacts a channel, a division or a transposition of their own",
        )
    return AssignmentNote(
        NoteCode.CONTINUED_ON_CHANNEL,
        group.id,
        channel,
        f"{found}, so they send on channel {channel}",
        allowed,
        "give these contacts a channel of their own if another suits better",
    )
