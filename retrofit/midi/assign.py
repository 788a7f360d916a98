"""A message for every point of a job: the user's wish where there is one, else a default that clashes with no other."""

from __future__ import annotations

from collections.abc import Sequence

from retrofit.midi.assignment import Assignment, AssignmentNote, NoteCode
from retrofit.midi.channels import share_channels
from retrofit.midi.defaults import (
    USUAL_KIND,
    control_candidates,
    encode,
    numbers_from,
    shoe_bits,
    shoe_candidates,
    wished_number,
)
from retrofit.midi.kept import kept_messages
from retrofit.midi.key_channels import key_channels
from retrofit.midi.ledger import Ledger
from retrofit.midi.messages import COARSE_BITS, FINE_ABOVE, PointMessage, ShoeMessage
from retrofit.midi.uses import Use, uses_of_shoe
from retrofit.survey.contacts import Group, KeyGroup, RollerGroup
from retrofit.survey.job import Job
from retrofit.survey.points import Point, PointKind
from retrofit.survey.wishes import MessageKind

_ORDER = (PointKind.SHOE, PointKind.STOP, PointKind.PISTON)
"""Defaults are given in this order: shoes have the fewest numbers to choose from, pistons the most."""


def assign_messages(job: Job, points: Sequence[Point]) -> Assignment:
    """Return what every point of the job sends; `points` are those of `list_points`.

    Numbers are given out in this order: wired points that stay as recorded, points with a wish of their own, keys,
    groups with a wished first number, then shoes, stops and pistons.  A point that is not fitted or was left out keeps
    its number and sends nothing; a point on another's line sends nothing of its own.  Whatever cannot be given is
    among the notes; nothing is raised.
    """
    giver = _Giver(job, points)
    giver.give_kept()
    giver.give_wished()
    giver.give_keys()
    giver.give_from_first_number()
    giver.give_defaults()
    return giver.result()


class _Giver:
    """Gives out messages; holds what was given so far."""

    def __init__(self, job: Job, points: Sequence[Point]) -> None:
        self._job = job
        self._groups: dict[str, Group] = {group.id: group for group in job.groups}
        self._order = tuple(point.id for point in points)
        self._points = tuple(p for p in points if p.same_line_as is None and p.kind is not PointKind.STAGE)
        self._kept = kept_messages(job, self._points)
        self._groups_kept = {point.partition(".")[0] for point in self._kept.by_point}
        share = share_channels(job, self._points, self._kept)
        self._channels = share.by_division
        self._ledger = Ledger(share.spare, self._kept.reserved)
        keys = key_channels(job, self._points, share.by_division, self._ledger, self._kept)
        self._key_channels = keys.by_point
        self._messages: dict[str, PointMessage] = {}
        self._shoes: dict[str, ShoeMessage] = {}
        self._notes = [*share.notes, *keys.notes, *_twin_wishes(points), *_group_wishes(job)]

    def result(self) -> Assignment:
        """Return everything given, in the order of the points."""
        return Assignment(
            {point: self._messages[point] for point in self._order if point in self._messages},
            {point: self._shoes[point] for point in self._order if point in self._shoes},
            self._channels,
            tuple(self._notes),
        )

    def give_kept(self) -> None:
        """Give every wired point what is recorded of it, and let further points follow where a full channel goes on."""
        for point in self._points:
            use = self._kept.by_point.get(point.id)
            if use is None:
                continue
            self._ledger.take(use)
            self._record(point, use)
            home = self._home(point)
            if point.kind is not PointKind.KEY and home not in (None, use.channel):
                self._ledger.continue_on(home, use.kind, use.channel)

    def give_wished(self) -> None:
        """Give every other point the number that it asks for itself."""
        for point in self._without_record_kept():
            wish = wished_number(point.message)
            if wish is not None:
                self._give_at(point, *wish)

    def give_keys(self) -> None:
        """Give every other key its note."""
        for point in self._waiting(PointKind.KEY):
            if point.note is not None:
                self._give_at(point, MessageKind.NOTE, point.note + point.transpose)

    def give_from_first_number(self) -> None:
        """Give the points of groups with a wished first number the numbers that follow it, by place in the group."""
        for group in self._job.groups:
            first = group.wanted.first_number
            if first is None or isinstance(group, KeyGroup):
                continue
            for point in self._waiting_of(group):
                kind = _kind(point, group)
                numbers = numbers_from(first, kind, self._job.wanted.controllers_to_avoid)
                number = self._number_at(point, kind, numbers)
                if number is not None:
                    self._give_at(point, kind, number)
                else:
                    self._notes.append(_numbers_run_out(point, kind))

    def give_defaults(self) -> None:
        """Give every remaining shoe, stop and piston a number that nothing else has."""
        for kind in _ORDER:
            for point in self._waiting(kind):
                group = self._groups[point.group]
                if group.wanted.first_number is None:
                    self._give_free(point, _kind(point, group), self._candidates(point, group))

    def _without_record_kept(self) -> list[Point]:
        return [point for point in self._points if point.id not in self._kept.by_point]

    def _waiting(self, kind: PointKind) -> list[Point]:
        points = self._without_record_kept()
        return [point for point in points if point.kind is kind and wished_number(point.message) is None]

    def _waiting_of(self, group: Group) -> list[Point]:
        points = self._without_record_kept()
        return [point for point in points if point.group == group.id and wished_number(point.message) is None]

    def _number_at(self, point: Point, kind: MessageKind, numbers: tuple[int, ...]) -> int | None:
        """Return the number that falls to a point's place; beside points that stay, the next one that is free."""
        place = self._place_in_group(point)
        channel = self._home(point)
        if channel is None or point.group not in self._groups_kept:
            return numbers[place] if place < len(numbers) else None
        recorded = point.id in self._kept.recorded
        for number in (*numbers[place:], *numbers[:place]):
            if self._ledger.is_free(Use(channel, kind, number), recorded=recorded):
                return number
        return None

    def _place_in_group(self, point: Point) -> int:
        """Return a contact's place in its group, or a shoe's place among the shoes, stages not counted."""
        if point.kind is not PointKind.SHOE:
            return point.position
        return [p.id for p in self._points if p.group == point.group and p.kind is PointKind.SHOE].index(point.id)

    def _candidates(self, point: Point, group: Group) -> tuple[int, ...]:
        avoid = self._job.wanted.controllers_to_avoid
        if point.kind is PointKind.SHOE:
            return shoe_candidates(isinstance(group, RollerGroup), avoid, bits=shoe_bits(point.shoe))
        return control_candidates(_kind(point, group), avoid)

    def _home(self, point: Point) -> int | None:
        """Return the channel on which a point sends unless its channel is full; None when its division has none."""
        if point.message is not None and point.message.channel is not None:
            return point.message.channel
        group = self._groups[point.group]
        if isinstance(group, KeyGroup):
            return self._key_channels.get(point.id)
        return group.wanted.channel or self._channels.get(point.division)

    def _give_at(self, point: Point, kind: MessageKind, number: int) -> None:
        channel = self._home(point)
        if point.kind is PointKind.SHOE and kind is not MessageKind.CONTROLLER:
            self._notes.append(_shoe_without_controller(point, kind, number))
        elif not 0 <= number <= 127:
            self._notes.append(_out_of_range(point, kind, number))
        elif channel is not None:
            use = Use(channel, kind, number)
            self._ledger.take(use)
            self._record(point, use)

    def _give_free(self, point: Point, kind: MessageKind, candidates: tuple[int, ...]) -> None:
        home = self._home(point)
        if home is None:
            return
        stays = point.message is not None and point.message.channel is not None
        place = self._ledger.place if stays else self._ledger.place_or_continue
        use = place(home, kind, candidates, recorded=point.id in self._kept.recorded)
        if use is None:
            self._notes.append(_numbers_run_out(point, kind))
            return
        if use.channel != home:
            self._say_continued(point, home, use.channel)
        self._record(point, use)

    def _say_continued(self, point: Point, home: int, channel: int) -> None:
        note = _continued(point, home, channel)
        if note not in self._notes:
            self._notes.append(note)

    def _record(self, point: Point, use: Use) -> None:
        if not point.takes_part:
            return
        if point.kind is PointKind.SHOE:
            bits = shoe_bits(point.shoe) if use.number < FINE_ABOVE else COARSE_BITS
            self._shoes[point.id] = ShoeMessage(use.channel, use.number, bits)
            for occupied in uses_of_shoe(self._shoes[point.id]):
                self._ledger.take(occupied)
        else:
            self._messages[point.id] = encode(use.kind, use.channel, use.number, self._job.wanted)


def _kind(point: Point, group: Group) -> MessageKind:
    if point.kind is PointKind.SHOE:
        return MessageKind.CONTROLLER
    return group.wanted.message or USUAL_KIND[point.kind]


def _twin_wishes(points: Sequence[Point]) -> list[AssignmentNote]:
    return [
        AssignmentNote(
            NoteCode.WISH_UNUSED,
            point.id,
            None,
            f"a message is wished for {point.id}, which is the same line as {point.same_line_as}",
            "one line sends one message, that of the point named first",
            f"move the wish to {point.same_line_as}",
        )
        for point in points
        if point.same_line_as is not None and wished_number(point.message) is not None
    ]


def _group_wishes(job: Job) -> list[AssignmentNote]:
    notes = []
    for group in job.groups:
        wanted = group.wanted
        if isinstance(group, KeyGroup) and (wanted.first_number, wanted.message) not in _KEY_WISHES:
            notes.append(_unused(group, "keys send the notes of their compass; transpose or order move them"))
        elif group.kind in ("shoes", "roller") and wanted.message not in (None, MessageKind.CONTROLLER):
            notes.append(_unused(group, "a shoe or roller sends a controller"))
    return notes


_KEY_WISHES = ((None, None), (None, MessageKind.NOTE))


def _unused(group: Group, allowed: str) -> AssignmentNote:
    wished = group.wanted.message.value if group.wanted.message else f"first_number {group.wanted.first_number}"
    return AssignmentNote(
        NoteCode.WISH_UNUSED,
        group.id,
        group.wanted.first_number,
        f"the wish {wished} of group {group.id} is not used",
        allowed,
        "remove the wish, or give single points a message of their own",
    )


def _shoe_without_controller(point: Point, kind: MessageKind, number: int) -> AssignmentNote:
    return AssignmentNote(
        NoteCode.WISH_UNUSED,
        point.id,
        number,
        f"{kind.value} {number} is wished for {point.id}",
        "a shoe or roller sends a controller",
        "give it a controller, or no message for the default",
    )


def _out_of_range(point: Point, kind: MessageKind, number: int) -> AssignmentNote:
    return AssignmentNote(
        NoteCode.OUT_OF_RANGE,
        point.id,
        number,
        f"{kind.value} {number} falls to {point.id}",
        f"a {kind.value} number is 0 to 127",
        "transpose less, start the group's numbers lower, or give the point a message of its own",
    )


def _numbers_run_out(point: Point, kind: MessageKind) -> AssignmentNote:
    return AssignmentNote(
        NoteCode.NUMBERS_RUN_OUT,
        point.id,
        None,
        f"no free {kind.value} number is left for {point.id}",
        "each point needs a number that nothing else on its channel has",
        "give the group a channel with room, skip fewer channels, or start its numbers lower",
    )


def _continued(point: Point, home: int, channel: int) -> AssignmentNote:
    return AssignmentNote(
        NoteCode.CONTINUED_ON_CHANNEL,
        point.group,
        channel,
        f"channel {home} has no free numbers left for {point.group}, which goes on upon channel {channel}",
        "a channel holds at most 128 notes or 96 free controllers",
        "give the group a channel of its own if another suits better",
    )
