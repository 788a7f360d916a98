"""What a plan sends, in the shape that the wire scenarios are worked out from."""

from __future__ import annotations

from collections.abc import Iterable

from retrofit.midi.messages import ShoeMessage, control_change
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.survey.instrument import MidiOut, Wanted
from retrofit.survey.points import PointKind
from retrofit.timing.wire_kinds import DinWire, UsbWire, Wire
from retrofit.timing.wire_scenarios import ConsoleMessages, OnOff

FINE_HALF = 32
"""A controller's fine half is numbered so much above it (MIDI 1.0, table III)."""


def console_messages(plan: ConversionPlan) -> ConsoleMessages:
    """Return the messages of a plan by kind; points that send nothing or take no part are left out."""
    points = [point for point in plan.points if point.point.takes_part]
    return ConsoleMessages(
        keys=_key_rows(points),
        pistons=_of_kind(points, PointKind.PISTON),
        stops=_of_kind(points, PointKind.STOP),
        shoes=tuple(_shoe_messages(point.shoe) for point in points if point.shoe),
        shoe_interval_us=plan.job.wanted.shoe_interval_ms * 1000.0,
    )


def wire_of(wanted: Wanted) -> Wire:
    """Return the wire that the job asks for."""
    return UsbWire() if wanted.midi_out is MidiOut.USB else DinWire(wanted.running_status)


def _key_rows(points: Iterable[PointPlan]) -> tuple[tuple[OnOff, ...], ...]:
    """Return the keys of each channel, the lowest note first."""
    rows: dict[int, list[OnOff]] = {}
    for point in points:
        if point.point.kind is PointKind.KEY and point.message is not None and point.message.on:
            rows.setdefault(point.message.on[0] & 0x0F, []).append(OnOff(point.message.on, point.message.off))
    return tuple(tuple(sorted(row, key=lambda key: key.on[1])) for _, row in sorted(rows.items()))


def _of_kind(points: Iterable[PointPlan], kind: PointKind) -> tuple[OnOff, ...]:
    return tuple(
        OnOff(point.message.on, point.message.off)
        for point in points
        if point.point.kind is kind and point.message is not None
    )


def _shoe_messages(shoe: ShoeMessage) -> tuple[bytes, ...]:
    coarse = control_change(shoe.channel, shoe.controller, 0)
    if shoe.bits <= 7:
        return (coarse,)
    return coarse, control_change(shoe.channel, shoe.controller + FINE_HALF, 0)
