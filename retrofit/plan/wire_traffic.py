"""What a plan sends, in the shape that the wire scenarios are worked out from."""

from __future__ import annotations

from collections.abc import Iterable

from retrofit.midi.messages import COARSE_BITS, FINE_ABOVE, ShoeMessage, control_change
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.survey.instrument import MidiOut, Wanted
from retrofit.survey.points import PointKind
from retrofit.timing.wire_kinds import DinWire, UsbWire, Wire
from retrofit.timing.wire_scenarios import ConsoleMessages, OnOff


def console_messages(plan: ConversionPlan) -> ConsoleMessages:
    """Return the messages of a plan by kind; points that send nothing or take no part are left out."""
    points = [point for point in plan.points if point.point.takes_part]
    return ConsoleMessages(
        keys=_key_rows(points),
        pistons=_of_kind(points, PointKind.PISTON),
        stops=_of_kind(points, PointKind.STOP),
        shoes=tuple(shoe_messages(point.shoe) for point in points if point.shoe),
        shoe_interval_us=plan.job.wanted.shoe_interval_ms * 1000.0,
    )


def wire_of(wanted: Wanted) -> Wire:
    """Return the wire that the job asks for."""
    return UsbWire() if wanted.midi_out is MidiOut.USB else DinWire(wanted.running_status)


def message_us_max(wanted: Wanted) -> float:
    """Return the longest that a note takes on the idle wires that the job asks for, the slower one where it has two."""
    by_din: tuple[Wire, ...] = (DinWire(wanted.running_status),) if wanted.by_din else ()
    by_usb: tuple[Wire, ...] = (UsbWire(),) if wanted.by_usb else ()
    return max(wire.time([_NOTE]).us_max for wire in (*by_din, *by_usb))


_NOTE = bytes((0x90, 60, 100))
"""Any note: all are equally long."""


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


def shoe_messages(shoe: ShoeMessage) -> tuple[bytes, ...]:
    """Return the messages of one new value of a shoe, at the most: both halves of it."""
    coarse = control_change(shoe.channel, shoe.controller, 0)
    if shoe.bits <= COARSE_BITS:
        return (coarse,)
    return coarse, control_change(shoe.channel, shoe.controller + FINE_ABOVE, 0)
