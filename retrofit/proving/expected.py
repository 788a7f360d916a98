"""What each message of the wire means by the plan: which point says it, and whether on or off."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from retrofit.midi.messages import COARSE_BITS, CONTROL_CHANGE, FINE_ABOVE, NOTE_ON, PROGRAM_CHANGE, ShoeMessage
from retrofit.midi.names import note_name
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.proving.windows import Windows, windows_of
from retrofit.survey.contacts import Condition
from retrofit.survey.points import Point, PointKind

EXCUSES = {
    Condition.DEAD: "known as dead",
    Condition.NOT_FITTED: "not fitted",
    Condition.LEFT_OUT: "left out on purpose",
    Condition.CIPHERING: "known to stay closed",
}
"""Conditions for which nothing is expected of a point, in words."""


@dataclass(frozen=True, slots=True)
class ExpectedPoint:
    """A point as the live engine knows it.

    `words` is what the user calls it; `excuse` says why nothing is expected of it, or is None.  `shared_with` are
    points that say the very same messages, so that they cannot be told from this one.
    """

    id: str
    group: str
    division: str
    kind: PointKind
    position: int
    words: str
    note: int | None
    channel: int | None
    excuse: str | None
    shared_with: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Expected:
    """All points that send, and what their messages mean.

    `notes` leads from the first two bytes of a note-on to a contact's index in `contacts`; `switches` from a whole
    message of another kind to the index and the state; `shoes` from the first two bytes to the index in `shoe_points`
    and whether they bring the fine half of a pair.  `windows` are those of each group of contacts.  `numbers` leads
    from the board's own number of a contact, eight to a lane, to the index of the contact that speaks for it.
    """

    digest: str
    contacts: tuple[ExpectedPoint, ...]
    shoe_points: tuple[ExpectedPoint, ...]
    notes: dict[bytes, int]
    switches: dict[bytes, tuple[int, bool]]
    shoes: dict[bytes, tuple[int, bool]]
    windows: dict[str, Windows] = field(default_factory=dict)
    numbers: dict[int, int] = field(default_factory=dict)

    def group(self, group_id: str) -> tuple[ExpectedPoint, ...]:
        """Return the contacts of a group in their order of wiring."""
        return tuple(sorted((p for p in self.contacts if p.group == group_id), key=lambda point: point.position))


def expected_of(plan: ConversionPlan) -> Expected:
    """Return what a plan's board is expected to send."""
    contacts: list[ExpectedPoint] = []
    notes: dict[bytes, int] = {}
    switches: dict[bytes, tuple[int, bool]] = {}
    for point, twins in _speakers(plan):
        index = len(contacts)
        contacts.append(_expected(point, twins))
        _enter(point, index, notes, switches)
    shoes = [point for point in plan.points if point.shoe is not None and point.point.takes_part]
    return Expected(
        plan.digest,
        tuple(contacts),
        tuple(_expected(point) for point in shoes),
        notes,
        switches,
        {key: (index, fine) for index, point in enumerate(shoes) for key, fine in _shoe_keys(point.shoe)},
        {group.id: windows_of(group) for group in plan.groups},
        _numbers(plan, contacts),
    )


def _numbers(plan: ConversionPlan, contacts: list[ExpectedPoint]) -> dict[int, int]:
    """Return the index of the contact that is read at each of the board's numbers, by the order of its lanes."""
    index_of = {name: index for index, point in enumerate(contacts) for name in (point.id, *point.shared_with)}
    return {
        lane.index * len(lane.points) + bit: index_of[name]
        for lane in plan.layout.lanes
        for bit, name in enumerate(lane.points)
        if name in index_of
    }


def _speakers(plan: ConversionPlan) -> Iterator[tuple[PointPlan, tuple[str, ...]]]:
    """Yield every contact that sends, once for each message, with the further points that send the same.

    Of several that cannot be told apart, one from which something is expected speaks for all.
    """
    by_message: dict[bytes, list[PointPlan]] = {}
    for point in plan.points:
        if point.message is not None and point.message.on and point.point.takes_part:
            by_message.setdefault(_heard_as(point.message.on), []).append(point)
    for same in by_message.values():
        first = min(same, key=lambda point: point.point.found.condition in EXCUSES)
        yield first, tuple(other.point.id for other in same if other is not first)


def _heard_as(on: bytes) -> bytes:
    """Return what tells a message from others: of a note, status and number, whatever its strength."""
    return on[:2] if on[0] & 0xF0 == NOTE_ON else on


def _enter(point: PointPlan, index: int, notes: dict[bytes, int], switches: dict[bytes, tuple[int, bool]]) -> None:
    message = point.message
    if message is None:
        return
    if message.on[0] & 0xF0 == NOTE_ON:
        notes[_heard_as(message.on)] = index
        return
    switches[message.on] = (index, True)
    if message.off:
        switches[message.off] = (index, False)


def _shoe_keys(shoe: ShoeMessage | None) -> Iterator[tuple[bytes, bool]]:
    if shoe is None:
        return
    status = CONTROL_CHANGE | (shoe.channel - 1)
    yield bytes((status, shoe.controller)), False
    if shoe.bits > COARSE_BITS:
        yield bytes((status, shoe.controller + FINE_ABOVE)), True


def _expected(plan: PointPlan, twins: tuple[str, ...] = ()) -> ExpectedPoint:
    point = plan.point
    channel = (plan.message.on[0] & 0x0F) + 1 if plan.message and plan.message.on else None
    return ExpectedPoint(
        id=point.id,
        group=point.group,
        division=point.division,
        kind=point.kind,
        position=point.position,
        words=_words(point),
        note=point.note,
        channel=channel if plan.shoe is None else plan.shoe.channel,
        excuse=EXCUSES.get(point.found.condition),
        shared_with=twins,
    )


def _words(point: Point) -> str:
    """Return what the user calls a point: a key by its group and note, anything else by name and footage."""
    if point.note is not None:
        return " ".join(filter(None, (point.group, point.name, f"{note_name(point.note)} ({point.note})")))
    return " ".join(filter(None, (point.name or point.id, point.footage)))


def is_momentary(message: bytes) -> bool:
    """Return whether a message has no counterpart that takes it back, as a program change has none."""
    return message[0] & 0xF0 == PROGRAM_CHANGE
