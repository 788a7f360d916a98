"""What the lists say about a point: its name and note, its remarks, and what it shares a line with."""

from __future__ import annotations

from retrofit.midi.names import note_name
from retrofit.plan.model import ConversionPlan
from retrofit.survey.points import Point


def note_number_text(point: Point) -> str:
    """Return the number of the key's note, or nothing for what is no key."""
    return "" if point.note is None else str(point.note)


def note_name_text(point: Point) -> str:
    """Return the name of the key's note, or nothing for what is no key."""
    return "" if point.note is None else note_name(point.note)


def remarks_text(point: Point, plan: ConversionPlan, *more: str) -> str:
    """Return what else is known of a point: the line it shares, `more`, and its dated notes, on one line."""
    notes = (f"{note.date.isoformat()} {note.initials}: {note.text}" for note in point.found.notes)
    return "; ".join(filter(None, (*_shared_line(point, plan), *more, *notes)))


def _shared_line(point: Point, plan: ConversionPlan) -> tuple[str, ...]:
    if point.same_line_as is None:
        return ()
    said = (line.remark for line in plan.job.same_lines if point.id in line.points[1:])
    return (f"same line as {point.same_line_as}", *said)
