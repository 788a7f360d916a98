"""The message list: what every point sends, in words and in bytes."""

from __future__ import annotations

from retrofit.midi.controllers import CONTROLLERS, Standing
from retrofit.midi.messages import (
    COARSE_BITS,
    CONTROL_CHANGE,
    FINE_ABOVE,
    NOTE_OFF,
    NOTE_ON,
    PROGRAM_CHANGE,
    ShoeMessage,
)
from retrofit.midi.names import note_name
from retrofit.papers.csv_text import csv_text
from retrofit.papers.identity import identity_remarks
from retrofit.papers.point_words import note_name_text, remarks_text
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.survey.points import PointKind

MESSAGE_LIST_NAME = "message-list.csv"
COLUMNS = (
    "point",
    "group",
    "name",
    "footage",
    "channel",
    "sends when on",
    "bytes when on",
    "sends when off",
    "bytes when off",
    "remarks",
)
NOTHING = "nothing"
FREE = "free"


def message_list_csv(plan: ConversionPlan) -> str:
    """Return the list as CSV: a row per point in the order of the job file, stages of stepped shoes left out."""
    points = [point for point in plan.points if point.point.kind is not PointKind.STAGE]
    return csv_text(identity_remarks(plan, "message list"), COLUMNS, [_row(point, plan) for point in points])


def _row(planned: PointPlan, plan: ConversionPlan) -> tuple[str, ...]:
    point = planned.point
    return (
        point.id,
        point.group,
        f"{point.name} {note_name_text(point)}".strip(),
        point.footage,
        *_sent(planned),
        remarks_text(point, plan, _condition(planned)),
    )


def _condition(planned: PointPlan) -> str:
    return "" if planned.point.takes_part else planned.point.found.condition.value


def _sent(planned: PointPlan) -> tuple[str, str, str, str, str]:
    """Channel, and words and bytes for on and for off."""
    if planned.shoe is not None:
        return _shoe_sent(planned.shoe)
    if planned.message is None:
        return "", NOTHING, "", NOTHING, ""
    on, off = planned.message.on, planned.message.off
    return _channel(on or off), message_words(on), _hex(on), message_words(off), _hex(off)


def _shoe_sent(shoe: ShoeMessage) -> tuple[str, str, str, str, str]:
    status = f"{CONTROL_CHANGE | shoe.channel - 1:02X}"
    sent = f"{status} {shoe.controller:02X} 00..7F"
    if shoe.bits <= COARSE_BITS:
        return str(shoe.channel), f"{_controller_words(shoe.controller)}, value 0 to 127", sent, "", ""
    fine = shoe.controller + FINE_ABOVE
    words = (
        f"{_controller_words(shoe.controller)}, upper 7 bits of a value 0 to {2**shoe.bits - 1}, "
        f"then {fine}, its lower 7 bits; {fine} alone while the upper ones stay"
    )
    return str(shoe.channel), words, f"{sent} then {status} {fine:02X} 00..7F", "", ""


def message_words(message: bytes) -> str:
    """Return what a channel message says, in words; `nothing` for no bytes."""
    if not message:
        return NOTHING
    first, second = message[1], message[-1]
    words = {
        NOTE_ON: f"note on {_note_words(first)}, velocity {second}",
        NOTE_OFF: f"note off {_note_words(first)}, velocity {second}",
        CONTROL_CHANGE: f"{_controller_words(first)}, value {second}",
        PROGRAM_CHANGE: f"program change, byte {first} (counted from 1: {first + 1})",
    }
    kind = message[0] & 0xF0
    if kind == NOTE_ON and second == 0:
        return f"note off {_note_words(first)}, as note on with velocity 0"
    return words.get(kind, "another message")


def _note_words(number: int) -> str:
    return f"{note_name(number)} ({number})"


def _controller_words(number: int) -> str:
    """Return a controller with its meaning; one to which the standard gives none is free."""
    controller = CONTROLLERS[number]
    return f"controller {number} ({FREE if controller.standing is Standing.UNDEFINED else controller.name})"


def _channel(message: bytes) -> str:
    return str((message[0] & 0x0F) + 1) if message else ""


def _hex(message: bytes) -> str:
    return message.hex(" ").upper()
