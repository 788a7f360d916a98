"""The parts of a job file that are sound in themselves, so that they can be checked against each other.

A file with a fault in one group still has its other groups: they are judged together with what is known of the
faulty one, its id, so that one run reports everything.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from retrofit.survey.contacts import Group
from retrofit.survey.instrument import Division, Supply
from retrofit.survey.job import Job, SameLine
from retrofit.survey.operations import HandOperation
from retrofit.survey.points import Point, group_points

T = TypeVar("T")
Placed = tuple[tuple[int, T], ...]
"""Sound members of a list, each with its position in the file."""


@dataclass(frozen=True)
class Members:
    """What the cross checks look at: sound members, and the ids of all of them, sound or not.

    `nameless` are the lists in which a member has no id, or which are not there at all though they are needed: nothing
    can be said of references into them.
    """

    groups: Placed[Group]
    divisions: Placed[Division]
    supplies: Placed[Supply]
    same_lines: Placed[SameLine]
    addresses: tuple[str, ...]
    ids: Mapping[str, tuple[tuple[int, str], ...]]
    nameless: frozenset[str] = frozenset()
    operations: Placed[HandOperation] = ()
    messages: tuple[str, ...] = ()

    @cached_property
    def points(self) -> tuple[Point, ...]:
        """Every point of the sound groups."""
        return tuple(point for _, group in self.groups for point in group_points(group))

    @cached_property
    def point_ids(self) -> frozenset[str]:
        """The ids of these points."""
        return frozenset(point.id for point in self.points)

    @cached_property
    def faulty_groups(self) -> frozenset[str]:
        """Ids of groups whose points are not known because the group has a fault."""
        sound = {position for position, _ in self.groups}
        return frozenset(name for position, name in self.ids["groups"] if position not in sound)

    def known_ids(self, kind: str) -> frozenset[str]:
        """Return the ids of all members of the list `kind`."""
        return frozenset(name for _, name in self.ids[kind])

    def is_stray(self, kind: str, name: str) -> bool:
        """Return whether there is certainly no member `name` in the list `kind`."""
        return kind not in self.nameless and name not in self.known_ids(kind)

    def is_stray_point(self, point: str) -> bool:
        """Return whether there is certainly no such point: it is in no sound group, and in no faulty one either."""
        may_be_hidden = "groups" in self.nameless or point.partition(".")[0] in self.faulty_groups
        return not may_be_hidden and point not in self.point_ids


def members_of_job(job: Job) -> Members:
    """Return the members of a job whose shape is right."""
    lists = {
        "groups": job.groups,
        "divisions": job.divisions,
        "supplies": job.supplies,
        "operations": job.operations,
    }
    return Members(
        groups=tuple(enumerate(job.groups)),
        divisions=tuple(enumerate(job.divisions)),
        supplies=tuple(enumerate(job.supplies)),
        same_lines=tuple(enumerate(job.same_lines)),
        addresses=tuple(job.addresses),
        ids={kind: tuple((i, member.id) for i, member in enumerate(found)) for kind, found in lists.items()},
        operations=tuple(enumerate(job.operations)),
        messages=tuple(job.messages),
    )


def salvage_members(data: Mapping[str, Any]) -> Members:
    """Return the sound members of data whose shape is not right everywhere."""
    return Members(
        groups=_sound(data, "groups", TypeAdapter(Group)),
        divisions=_sound(data, "divisions", TypeAdapter(Division)),
        supplies=_sound(data, "supplies", TypeAdapter(Supply)),
        same_lines=_sound(data, "same_lines", TypeAdapter(SameLine)),
        addresses=_keys(data, "addresses"),
        ids={kind: tuple(_raw_ids(data, kind)) for kind in ("groups", "divisions", "supplies", "operations")},
        nameless=frozenset(kind for kind in ("groups", "divisions", "supplies") if _is_nameless(data, kind)),
        operations=_sound(data, "operations", TypeAdapter(HandOperation)),
        messages=_keys(data, "messages"),
    )


def _listed(data: Mapping[str, Any], kind: str) -> list[Any]:
    found = data.get(kind)
    return found if isinstance(found, list) else []


def _keys(data: Mapping[str, Any], kind: str) -> tuple[str, ...]:
    found = data.get(kind)
    return tuple(found) if isinstance(found, dict) else ()


def _is_nameless(data: Mapping[str, Any], kind: str) -> bool:
    needed = Job.model_fields[kind].is_required()
    return len(list(_raw_ids(data, kind))) < len(_listed(data, kind)) or (needed and not _listed(data, kind))


def _sound(data: Mapping[str, Any], kind: str, adapter: TypeAdapter[T]) -> Placed[T]:
    sound = []
    for position, found in enumerate(_listed(data, kind)):
        try:
            sound.append((position, adapter.validate_python(found)))
        except ValidationError:
            continue  # its faults are already told
    return tuple(sound)


def _raw_ids(data: Mapping[str, Any], kind: str) -> Iterator[tuple[int, str]]:
    for position, found in enumerate(_listed(data, kind)):
        name = found.get("id") if isinstance(found, dict) else None
        if isinstance(name, str):
            yield position, name
