"""The MIDI implementation chart: what the console sends and what it answers to, in the standard's form.

Functions, their order and the signs o (yes) and x (no) are those of the chart in the MIDI 1.0 Detailed Specification,
from memory of its form; the channels of the divisions follow.
"""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.midi.controllers import CONTROLLERS, Standing
from retrofit.midi.messages import (
    ALL_NOTES_OFF,
    COARSE_BITS,
    CONTROL_CHANGE,
    FINE_ABOVE,
    NOTE_ON,
    PROGRAM_CHANGE,
    ShoeMessage,
)
from retrofit.midi.number_runs import number_runs
from retrofit.papers.pages import Block, paged
from retrofit.papers.text_cells import row
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.survey.instrument import NoteOff

IMPLEMENTATION_CHART_NAME = "implementation-chart.txt"
YES, NO = "o", "x"
DAMPER = 64
_WIDTHS = (22, 14, 12, 29)
_HEADS = row(("function", "transmitted", "recognised", "remarks"), _WIDTHS)[0]

Line = tuple[str, str, str, str]
"""Function, transmitted, recognised, remarks."""


def implementation_chart_text(plan: ConversionPlan) -> str:
    """Return the chart as pages of plain text."""
    lines = tuple(row(line, _WIDTHS) for line in chart_lines(plan))
    blocks = (Block((), lines), Block(("Channels of the divisions", ""), tuple(map(_channel_row, _divisions(plan)))))
    signs = Block((f"{YES}: yes   {NO}: no   mode 3: omni off, poly",))
    return paged(plan, "MIDI IMPLEMENTATION CHART", _HEADS, (*blocks, signs))


def chart_lines(plan: ConversionPlan) -> tuple[Line, ...]:
    """Return the chart's lines from top to bottom."""
    return (
        *_channel_lines(plan),
        *_note_lines(plan),
        ("Aftertouch: keys", NO, NO, ""),
        ("Aftertouch: channel", NO, NO, ""),
        ("Pitch bend", NO, NO, ""),
        *_control_lines(plan),
        *_program_lines(plan),
        ("System exclusive", YES, YES, _exclusive(plan)),
        ("Common: song pos.", NO, NO, ""),
        ("Common: song select", NO, NO, ""),
        ("Common: tune request", NO, NO, ""),
        ("Real time: clock", NO, NO, "passed over, also inside other messages"),
        ("Real time: commands", NO, NO, ""),
        *_auxiliary_lines(plan),
    )


def _exclusive(plan: ConversionPlan) -> str:
    held = "keys held at power-on; " if plan.job.wanted.report_held_at_start else ""
    return f"identity reply to a request; {held}stops and shoes again on request"


def _channel_lines(plan: ConversionPlan) -> Iterator[Line]:
    sent = number_runs({channel for point in plan.points for channel in _channels(point)})
    notes = number_runs({(message[0] & 0x0F) + 1 for message in _messages(plan) if message[0] & 0xF0 == NOTE_ON})
    yield "Channel: default", sent or NO, notes or NO, "recognised: those that carry notes"
    yield "Channel: changed", NO, NO, ""
    yield "Mode: default", "mode 3", NO, ""
    yield "Mode: messages", NO, NO, ""
    yield "Mode: altered", NO, NO, ""


def _note_lines(plan: ConversionPlan) -> Iterator[Line]:
    on = [message for message in _messages(plan) if message[0] & 0xF0 == NOTE_ON]
    wanted = plan.job.wanted
    velocities = number_runs(message[2] for message in on if message[2])
    off = "8n, v=64" if wanted.note_off is NoteOff.NOTE_OFF else "9n, v=0"
    yield "Note number", number_runs(message[1] for message in on) or NO, NO, ""
    yield "  true voice", NO, NO, ""
    yield "Velocity: note on", f"9n, v={velocities}" if on else NO, NO, "contacts measure no velocity"
    yield "Velocity: note off", off if on else NO, NO, ""


def _control_lines(plan: ConversionPlan) -> Iterator[Line]:
    stops = {message[1] for message in _messages(plan) if message[0] & 0xF0 == CONTROL_CHANGE}
    if stops:
        recognised = YES if plan.job.wanted.listen_to_stops else NO
        yield f"Control change {number_runs(stops)}", YES, recognised, "each by the message list"
    for number, bits in sorted({(shoe.controller, shoe.bits) for shoe in _shoes(plan)}):
        fine = f", fine half on {number + FINE_ABOVE}" if bits > COARSE_BITS else ""
        yield f"Control change {number}", YES, NO, f"shoe: {_controller_words(number)}{fine}"
    if plan.job.wanted.panic:
        yield f"Control change {DAMPER}", YES, NO, "damper pedal, off alone, in a panic"


def _controller_words(number: int) -> str:
    controller = CONTROLLERS[number]
    return "undefined in the standard" if controller.standing is Standing.UNDEFINED else controller.name


def _program_lines(plan: ConversionPlan) -> Iterator[Line]:
    programs = {message[1] for message in _messages(plan) if message[0] & 0xF0 == PROGRAM_CHANGE}
    yield "Program change", number_runs(programs) or NO, NO, "bytes, counted from 0" if programs else ""
    yield "  true number", NO, NO, ""


def _auxiliary_lines(plan: ConversionPlan) -> Iterator[Line]:
    when = "at every start, and in a panic" if plan.job.wanted.panic else "at every start"
    yield "Aux: all sound off", NO, YES, "sounding notes are ended one by one"
    yield "Aux: controllers off", NO, NO, ""
    yield "Aux: local on/off", NO, NO, ""
    yield "Aux: all notes off", YES, YES, f"controller {ALL_NOTES_OFF}, {when}"
    yield "Aux: active sense", NO, NO, ""
    yield "Aux: reset", NO, NO, ""


def _messages(plan: ConversionPlan) -> list[bytes]:
    """Return every message that a contact of the console sends."""
    sent = [(point.message.on, point.message.off) for point in plan.points if point.message is not None]
    return [message for pair in sent for message in pair if message]


def _shoes(plan: ConversionPlan) -> list[ShoeMessage]:
    return [point.shoe for point in plan.points if point.shoe is not None]


def _divisions(plan: ConversionPlan) -> Iterator[tuple[str, str]]:
    """Yield each division's name with the channels on which its points send."""
    for division in plan.job.divisions:
        points = [point for point in plan.points if point.point.division == division.id]
        channels = {channel for point in points for channel in _channels(point)}
        yield division.name or division.id, number_runs(channels) or NO


def _channels(point: PointPlan) -> Iterator[int]:
    """Yield the channels on which a point sends, from 1."""
    if point.shoe is not None:
        yield point.shoe.channel
    elif point.message is not None:
        yield from ((message[0] & 0x0F) + 1 for message in (point.message.on, point.message.off) if message)


def _channel_row(division: tuple[str, str]) -> tuple[str, ...]:
    name, channels = division
    return row((name, channels), (38, 40))
