"""From a survey to the requests that a layout answers: contacts in order of wiring, and which level means on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from retrofit.circuits.settle import LEAST_WAIT_US
from retrofit.plan.interfaces import interface_of
from retrofit.plan.polarity import keyed_reads_high
from retrofit.scan.requests import GroupRequest, ListenStyle, MatrixStyle, PlaceRequest
from retrofit.survey.contacts import Group, GroupBase, KeyGroup, ShoeSensor
from retrofit.survey.job import Job
from retrofit.survey.points import Point, PointKind, key_contacts

_SPEED = {PointKind.KEY: 0, PointKind.PISTON: 1, PointKind.STOP: 2, PointKind.STAGE: 2}


@dataclass(frozen=True, slots=True)
class FrontEnds:
    """What was worked out of the parts in front of the board, by group: waits, matrices, and what is listened to."""

    settle_us: Mapping[str, float] = field(default_factory=dict)
    matrices: Mapping[str, MatrixStyle] = field(default_factory=dict)
    listened: Mapping[str, ListenStyle] = field(default_factory=dict)


def group_requests(
    job: Job, points: Sequence[Point], front_ends: FrontEnds, chosen_levels: Mapping[str, bool]
) -> tuple[GroupRequest, ...]:
    """Return one request per group of contacts, and one for the converter channels of each group of shoes.

    `chosen_levels` tells whether a keyed line reads high behind the sense circuit that was chosen.
    """
    by_group: dict[str, list[Point]] = {group.id: [] for group in job.groups}
    for point in points:
        by_group[point.group].append(point)
    return tuple(
        request
        for group in job.groups
        for request in _requests(group, by_group[group.id], front_ends, chosen_levels.get(group.id))
    )


def _requests(
    group: Group, points: Sequence[Point], front_ends: FrontEnds, chosen_level: bool | None
) -> Iterator[GroupRequest]:
    contacts = [point for point in points if point.kind is not PointKind.SHOE]
    interface = interface_of(group)
    if interface is not None and contacts:
        yield GroupRequest(
            group=group.id,
            interface=interface.value,
            speed=_SPEED[contacts[0].kind],
            places=tuple(_places(group, contacts, chosen_level)),
            matrix_columns=group.wanted.matrix_columns,
            settle_us=front_ends.settle_us.get(group.id, LEAST_WAIT_US),
            multiplexer_inputs=group.wanted.multiplexer_inputs,
            matrix_style=front_ends.matrices.get(group.id, MatrixStyle()),
            listen=front_ends.listened.get(group.id),
        )
    converters = [point for point in points if _on_converter(point)]
    if converters:
        places = tuple(PlaceRequest(point.id, takes_part=point.takes_part) for point in converters)
        yield GroupRequest(group=group.id, interface="converter", speed=2, places=places)


def _on_converter(point: Point) -> bool:
    return point.shoe is not None and point.shoe.sensor is not ShoeSensor.STEPS


def _places(group: GroupBase, contacts: Sequence[Point], chosen_level: bool | None) -> Iterator[PlaceRequest]:
    """Yield a place per position; a position that plays nothing is kept free, and a twin takes no place of its own."""
    interface = interface_of(group)
    reads_high = interface is not None and keyed_reads_high(group, interface, chosen_level)
    by_position = {point.position: point for point in contacts if point.same_line_as is None}
    twins = {point.position for point in contacts if point.same_line_as is not None}
    for position in range(_length(group, contacts)):
        if position in twins:
            continue
        point = by_position.get(position)
        if point is None:
            yield PlaceRequest(None)
        else:
            yield PlaceRequest(point.id, inverted=bool(reads_high) == point.closed_at_rest, takes_part=point.takes_part)


def _length(group: GroupBase, contacts: Sequence[Point]) -> int:
    if isinstance(group, KeyGroup):
        return len(group.contacts) * len(key_contacts(group))
    return max(point.position for point in contacts) + 1
