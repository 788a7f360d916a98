"""From groups to points: one record per contact, shoe or stage, with a stable id.

Ids: a key contact is `group.note` (`great.36`), further contacts of a key add their own word (`great.36.second`);
a listed contact is `group.id`; a stage of a roller or stepped shoe is `group.n` or `group.id.n`, counted from 1.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from enum import StrEnum

from retrofit.survey.contacts import (
    Action,
    Condition,
    ContactGroup,
    ContactPoint,
    Found,
    KeyContact,
    KeyGroup,
    RollerGroup,
    ShoeGroup,
    ShoePoint,
    ShoeSensor,
)
from retrofit.survey.job import Job
from retrofit.survey.wishes import Message


class PointKind(StrEnum):
    """What a point is, in the order in which its messages are urgent."""

    KEY = "key"
    PISTON = "piston"
    STOP = "stop"
    SHOE = "shoe"
    STAGE = "stage"


@dataclass(frozen=True, slots=True)
class Point:
    """One thing read.  `position` is the place in its group's order of wiring, from 0."""

    id: str
    group: str
    division: str
    kind: PointKind
    position: int
    name: str
    note: int | None = None
    channel: int | None = None
    transpose: int = 0
    action: Action = Action.MOMENTARY
    closed_at_rest: bool = False
    footage: str = ""
    message: Message | None = None
    found: Found = field(default_factory=Found)
    same_line_as: str | None = None
    stage_of: str | None = None
    shoe: ShoePoint | None = None

    @property
    def takes_part(self) -> bool:
        """False for a point that is not there or was left out on purpose: its place is kept, it sends nothing."""
        return self.found.condition not in (Condition.NOT_FITTED, Condition.LEFT_OUT)


def key_contacts(group: KeyGroup) -> tuple[int, ...]:
    """Return the note of each contact in order of wiring; -1 stands for a contact that plays none."""
    compass = group.compass
    if compass.order:
        return compass.order
    plain = set(range(compass.lowest, compass.lowest + compass.count))
    return tuple(sorted((plain | set(compass.extra)) - set(compass.missing)))


def list_points(job: Job) -> tuple[Point, ...]:
    """Return every point of the job, group by group in the file's order."""
    twins = _twins(job)
    points = (point for group in job.groups for point in group_points(group))
    return tuple(_marked_as_twin(point, twins.get(point.id)) for point in points)


def _twins(job: Job) -> dict[str, str]:
    return {twin: line.points[0] for line in job.same_lines for twin in line.points[1:]}


def _marked_as_twin(point: Point, first: str | None) -> Point:
    if first is None:
        return point

    return replace(point, same_line_as=first)


def group_points(group: KeyGroup | ContactGroup | ShoeGroup | RollerGroup) -> Iterator[Point]:
    """Yield the points of one group in order of wiring, knowing nothing of lines that are shared."""
    match group:
        case KeyGroup():
            return _key_points(group)
        case ContactGroup():
            return _contact_points(group)
        case ShoeGroup():
            return _shoe_points(group)
        case RollerGroup():
            return _roller_points(group)


def _key_points(group: KeyGroup) -> Iterator[Point]:
    found = {(point.note, point.contact or group.contacts[0].id): point for point in group.points}
    position = 0
    for contact in group.contacts:
        for note in key_contacts(group):
            if note >= 0 and contact.covers(note):
                known = found.get((note, contact.id))
                yield Point(
                    id=_key_id(group, contact, note),
                    group=group.id,
                    division=contact.division or group.division,
                    kind=PointKind.KEY,
                    position=position,
                    name=contact.name,
                    note=note,
                    channel=contact.channel,
                    transpose=contact.transpose,
                    message=known.message if known else None,
                    found=known or Found(),
                )
            position += 1


def _key_id(group: KeyGroup, contact: KeyContact, note: int) -> str:
    first = contact.id == group.contacts[0].id
    return f"{group.id}.{note}" if first else f"{group.id}.{note}.{contact.id}"


_LISTED_KINDS = {"stops": PointKind.STOP, "pistons": PointKind.PISTON, "toe-studs": PointKind.PISTON}


def _contact_points(group: ContactGroup) -> Iterator[Point]:
    kind = _LISTED_KINDS[group.kind]
    usual = Action.MAINTAINED if kind is PointKind.STOP else Action.MOMENTARY
    for position, point in enumerate(group.points):
        yield _contact_point(group, point, kind, position, usual)


def _contact_point(group: ContactGroup, point: ContactPoint, kind: PointKind, position: int, usual: Action) -> Point:
    return Point(
        id=f"{group.id}.{point.id}",
        group=group.id,
        division=group.division,
        kind=kind,
        position=position,
        name=point.name or point.id,
        action=point.action or usual,
        closed_at_rest=point.rest.value == "closed",
        footage=point.footage,
        message=point.message,
        found=point,
    )


def _shoe_points(group: ShoeGroup) -> Iterator[Point]:
    position = 0
    for shoe in group.points:
        shoe_id = f"{group.id}.{shoe.id}"
        yield Point(
            id=shoe_id,
            group=group.id,
            division=group.division,
            kind=PointKind.SHOE,
            position=position,
            name=shoe.name or shoe.id,
            message=shoe.message,
            found=shoe,
            shoe=shoe,
        )
        if shoe.sensor is not ShoeSensor.STEPS:
            position += 1
            continue
        for stage in range(shoe.stages or 0):
            yield _stage(group.id, group.division, shoe_id, stage, position, shoe)
            position += 1


def _roller_points(group: RollerGroup) -> Iterator[Point]:
    yield Point(
        id=group.id,
        group=group.id,
        division=group.division,
        kind=PointKind.SHOE,
        position=0,
        name=group.name or group.id,
        message=group.message,
        found=group.found,
    )
    for stage in range(group.stages):
        yield _stage(group.id, group.division, group.id, stage, stage, group.found)


def _stage(group: str, division: str, shoe_id: str, stage: int, position: int, found: Found) -> Point:
    return Point(
        id=f"{shoe_id}.{stage + 1}",
        group=group,
        division=division,
        kind=PointKind.STAGE,
        position=position,
        name=f"stage {stage + 1}",
        found=found,
        stage_of=shoe_id,
    )
