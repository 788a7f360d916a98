"""What the board of a plan knows: its groups, lanes, messages and shoes, with the settings that were made wrongly."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import IntEnum
from math import ceil

from retrofit.midi.messages import COARSE_BITS, CONTROL_CHANGE, NOTE_OFF, NOTE_ON, ShoeMessage
from retrofit.plan.model import ConversionPlan, GroupPlan, PointPlan
from retrofit.rehearsal.standin.wiring import Reset
from retrofit.scan.layout import Source
from retrofit.survey.contacts import StepStyle
from retrofit.survey.points import PointKind
from retrofit.timing.debounce import Debounce

LANE_BITS = 8


class Duty(IntEnum):
    """What becomes of a group's changes, the most urgent first."""

    NOTES = 0
    PISTONS = 1
    STOPS = 2
    STAGES = 3


_DUTIES = {
    PointKind.KEY: Duty.NOTES,
    PointKind.PISTON: Duty.PISTONS,
    PointKind.STOP: Duty.STOPS,
    PointKind.STAGE: Duty.STAGES,
}


@dataclass(frozen=True, slots=True)
class BoardGroup:
    """A group: its debounce, every how many ticks it is sampled and at which of them, and what becomes of a change.

    `late_ticks` is how much earlier than it is looked at an expander's sample was taken.  `shoe` is the index of the
    shoe whose stages these are.
    """

    debounce: Debounce
    period_ticks: int
    phase: int
    duty: Duty
    shoe: int = 0
    late_ticks: int = 0


@dataclass(frozen=True, slots=True)
class BoardLane:
    """Eight contacts: the bits that are used, those that read reversed, and the message of each, empty for none."""

    group: BoardGroup
    used: int
    invert: int
    on: tuple[bytes, ...]
    off: tuple[bytes, ...]


@dataclass(frozen=True, slots=True)
class BoardShoe:
    """A shoe: its point, the bytes before its value, and its stages by number of the contact (lane * 8 + bit)."""

    point: str
    status: int
    controller: int
    fine: bool
    stages: tuple[int, ...] = ()
    selective: bool = False


@dataclass(frozen=True, slots=True)
class BoardTable:
    """Everything that the board was made with.

    `channels` (0-15) are those that notes are sent on, which are silenced at the start.  `by_wire` is False where
    messages leave by USB alone.  `panic` holds the contacts of the two pistons of a panic, or none.
    """

    tick_us: int
    lanes: tuple[BoardLane, ...]
    shoes: tuple[BoardShoe, ...]
    channels: tuple[int, ...]
    power_on_ticks: int
    shoe_interval_ticks: int
    running_status: bool
    report_held: bool
    by_wire: bool
    panic: tuple[int, ...] = ()


def board_table(
    plan: ConversionPlan, reversed_groups: Collection[str] = (), resets: Mapping[str, Reset] | None = None
) -> BoardTable:
    """Return what the board of a plan knows; `reversed_groups` and `resets` are what was set otherwise.

    Raises `ValueError` for a plan without a sampling period, of which no board can be made.
    """
    if not plan.tick_us:
        raise ValueError("a plan without a sampling period found, allowed are plans without errors")
    resets = resets or {}
    wanted = plan.job.wanted
    points = {point.point.id: point for point in plan.points}
    contacts = {
        point: lane.index * LANE_BITS + bit
        for lane in plan.layout.lanes
        for bit, point in enumerate(lane.points)
        if point is not None
    }
    shoes = tuple(
        _shoe(point, point.shoe, contacts, plan)
        for point in plan.points
        if point.shoe is not None and point.point.takes_part
    )
    shoe_ids = [shoe.point for shoe in shoes]
    groups = {
        group.id: _group(group, group.debounce, plan, shoe_ids) for group in plan.groups if group.debounce is not None
    }
    lanes = tuple(
        BoardLane(
            group=groups[lane.group],
            used=lane.used,
            invert=lane.invert ^ (lane.used if lane.group in reversed_groups else 0),
            **_messages(lane.points, points, resets.get(lane.group, Reset())),
        )
        for lane in plan.layout.lanes
    )
    return BoardTable(
        tick_us=plan.tick_us,
        lanes=lanes,
        shoes=shoes,
        channels=_channels(lanes),
        power_on_ticks=ceil(wanted.power_on_wait_s * 1_000_000 / plan.tick_us),
        shoe_interval_ticks=ceil(wanted.shoe_interval_ms * 1000 / plan.tick_us),
        running_status=wanted.running_status,
        report_held=wanted.report_held_at_start,
        by_wire=wanted.by_din,
        panic=tuple(contacts[point] for point in wanted.panic if point in contacts),
    )


def _group(group: GroupPlan, debounce: Debounce, plan: ConversionPlan, shoes: list[str]) -> BoardGroup:
    own = [p.point for p in plan.points if p.point.group == group.id and p.point.kind in _DUTIES and p.point.takes_part]
    duty = _DUTIES[own[0].kind] if own else Duty.STOPS
    period = 1 << group.divider_log2
    by_bus = any(lane.group == group.id and lane.source is Source.EXPANDER for lane in plan.layout.lanes)
    stage_of = next((point.stage_of for point in own if point.stage_of in shoes), None)
    return BoardGroup(
        debounce=debounce,
        period_ticks=period,
        phase=group.phase,
        duty=duty,
        shoe=shoes.index(stage_of) if stage_of is not None else 0,
        late_ticks=period if by_bus else 0,
    )


def _messages(
    places: tuple[str | None, ...], points: Mapping[str, PointPlan], reset: Reset
) -> dict[str, tuple[bytes, ...]]:
    found = [
        points[place].message if place is not None and points[place].point.takes_part else None for place in places
    ]
    return {
        "on": tuple(b"" if message is None else _as_set(message.on, reset) for message in found),
        "off": tuple(b"" if message is None else _as_set(message.off, reset) for message in found),
    }


def _as_set(message: bytes, reset: Reset) -> bytes:
    """Return a message on the channel that was set, a note transposed; one beyond the range wraps round."""
    if not message:
        return message
    status = message[0] if reset.channel is None else message[0] & 0xF0 | (reset.channel - 1)
    is_note = status & 0xF0 in (NOTE_ON, NOTE_OFF)
    return bytes((status, (message[1] + reset.semitones) & 0x7F if is_note else message[1])) + message[2:]


def _channels(lanes: tuple[BoardLane, ...]) -> tuple[int, ...]:
    sent = [message[0] for lane in lanes for message in (*lane.on, *lane.off) if message]
    return tuple(sorted({status & 0x0F for status in sent if status & 0xF0 in (NOTE_ON, NOTE_OFF)}))


def _shoe(point: PointPlan, message: ShoeMessage, contacts: Mapping[str, int], plan: ConversionPlan) -> BoardShoe:
    stages = [one.point.id for one in plan.points if one.point.stage_of == point.point.id]
    shoe = point.point.shoe
    return BoardShoe(
        point=point.point.id,
        status=CONTROL_CHANGE | (message.channel - 1),
        controller=message.controller,
        fine=message.bits > COARSE_BITS,
        stages=tuple(contacts[stage] for stage in stages if stage in contacts),
        selective=shoe is not None and shoe.style is StepStyle.SELECTIVE,
    )
