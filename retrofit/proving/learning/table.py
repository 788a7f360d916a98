"""From what was learned to the addresses of the job: what would change, what stays unproven, and what cannot be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from retrofit.midi.names import note_name
from retrofit.plan.model import ConversionPlan, Move
from retrofit.proving.learning.lesson import LessonKey
from retrofit.proving.learning.solve import Learned
from retrofit.scan.addresses import ConverterAddress, parse_address
from retrofit.scan.assemble import bit_of
from retrofit.scan.layout import Lane
from retrofit.scan.placing import lane_of
from retrofit.survey.contacts import Condition
from retrofit.survey.points import Point, PointKind

SILENCES = {Condition.DEAD: "known as dead", Condition.CIPHERING: "known to stay closed"}
"""Conditions in which a contact may well be silent: the board mutes one that never opens."""


class NoLessonError(ValueError):
    """A group whose order cannot be learned by playing; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Rewiring:
    """The addresses of a group as they were learned.

    `addresses` leads from every point of the group that has an address to the new one; `moves` are those that change.
    `unproven` are points that were not heard: they have what places were left over.  `outside` leads from keys to
    places that are not the group's, where their wires must not stay.
    """

    addresses: Mapping[str, str]
    moves: tuple[Move, ...]
    unproven: tuple[str, ...]
    outside: Mapping[str, str]


def lesson_keys(plan: ConversionPlan, group: str) -> tuple[LessonKey, ...]:
    """Return the keys of a group in the order in which they are to be played.

    Raises `NoLessonError` for a group that has none, or several contacts under a key, which speak together.
    """
    points = _wired_points(plan, group)
    there = [p for p in points if p.found.condition not in (Condition.NOT_FITTED, Condition.LEFT_OUT)]
    if len(there) < 2:
        raise NoLessonError(f"{group} has {len(there)} contacts with an address, and at least 2 have an order to learn")
    notes = [point.note for point in there if point.note is not None]
    if len(set(notes)) < len(notes):
        raise NoLessonError(
            f"{group} has several contacts under a key, which speak together: playing does not tell them apart; write "
            "their [addresses] by hand"
        )
    in_order = sorted(there, key=lambda point: point.position if point.note is None else point.note)
    return tuple(
        LessonKey(point.id, words_of(point), point.note, SILENCES.get(point.found.condition, "")) for point in in_order
    )


def words_of(point: Point) -> str:
    """Return what the user calls a point of the group."""
    if point.note is not None:
        return f"{point.group} {note_name(point.note)} ({point.note})"
    return " ".join(filter(None, (point.name or point.id, point.footage)))


def _wired_points(plan: ConversionPlan, group: str) -> list[Point]:
    return [
        plan_point.point
        for plan_point in plan.points
        if plan_point.point.group == group
        and plan_point.point.kind is not PointKind.SHOE
        and plan_point.address is not None
        and plan_point.point.same_line_as is None
    ]


def places_of_points(plan: ConversionPlan) -> dict[str, str]:
    """Return the place of every point that has an address; points on one line have the same."""
    return {point.point.id: str(point.address) for point in plan.points if point.address is not None}


def places_of_group(plan: ConversionPlan, group: str) -> tuple[str, ...]:
    """Return every place that is read for a group, those that no point has included."""
    return tuple(place for place, lane in _places(plan).items() if lane.group == group)


def place_at(plan: ConversionPlan) -> dict[tuple[int, int], str]:
    """Return the place that is read at each lane and bit, unused ones included."""
    return {(lane.index, _bit(place)): place for place, lane in _places(plan).items()}


def _bit(place: str) -> int:
    address = parse_address(place)
    if isinstance(address, ConverterAddress):
        raise TypeError(f"{place} is in no lane")
    return bit_of(address)


def _places(plan: ConversionPlan) -> dict[str, Lane]:
    """Return the lane of every address that is read, the points' first in their order, then the spare ones."""
    lanes = {(lane.source, lane.where, lane.place): lane for lane in plan.layout.lanes}
    found: dict[str, Lane] = {}
    for text in (*map(str, plan.layout.addresses.values()), *plan.layout.spare):
        key = lane_of(parse_address(text))
        if key in lanes:
            found[text] = lanes[key]
    return found


def rewiring(plan: ConversionPlan, group: str, learned: Learned) -> Rewiring:
    """Return the addresses of a group after a lesson; a point that was not heard keeps its place while that is free."""
    points = [point.id for point in _wired_points(plan, group)]
    own = places_of_group(plan, group)
    outside = {key: place for key, place in learned.places.items() if place not in own}
    certain = {key: place for key, place in learned.places.items() if place in own}
    before = places_of_points(plan)
    addresses = certain | _left_over([point for point in points if point not in certain], before, own, certain)
    moves = [Move(p, before[p], addresses[p]) for p in points if addresses[p] != before[p]]
    unproven = [point for point in points if point not in certain]
    return Rewiring({p: addresses[p] for p in points}, tuple(moves), tuple(unproven), outside)


def _left_over(
    points: Sequence[str], before: Mapping[str, str], own: Sequence[str], certain: Mapping[str, str]
) -> dict[str, str]:
    free = dict.fromkeys(place for place in own if place not in certain.values())
    kept = {point: before[point] for point in points if before[point] in free}
    others = [place for place in free if place not in kept.values()]
    return kept | dict(zip((point for point in points if point not in kept), others, strict=False))
