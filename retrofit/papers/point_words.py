"""What the lists say about a point: its name and note, its remarks, and what it shares a line with."""

from __future__ import annotations

from collections.abc import Iterable

from retrofit.midi.names import note_name
from retrofit.plan.model import ConversionPlan
from retrofit.survey.points import Point


def note_number_text(point: Point) -> str:
    """Return the number of the key's note, or nothing for what is no key."""
    return "" if point.note is None else str(point.note)


def note_name_text(point: Point) -> str:
    """Return the name of the key's note, or nothing for what is no key."""
    return "" if point.note is None else note_name(point.note)


def key_numbers(points: Iterable[Point]) -> dict[tuple[str, int], int]:
    """Return which key of its group each note is on, counted from 1 at the bottom, by group and note."""
    notes: dict[str, set[int]] = {}
    for point in points:
        if point.note is not None:
            notes.setdefault(point.group, set()).add(point.note)
    return {(group, note): key for group, held in notes.items() for key, note in enumerate(sorted(held), start=1)}


def remarks_text(point: Point, plan: ConversionPlan, *more: str) -> str:
    """Return what else is known of a point: the line it shares, `more`, and its dated notes, on one line."""
    notes = (f"{note.date.isoformat()} {note.initials}: {note.text}" for note in point.found.notes)
    return "; ".join(filter(None, (*_shared_line(point, plan), *more, *notes)))


def _shared_line(point: Point, plan: ConversionPlan) -> tuple[str, ...]:
    if point.same_line_as is None:
        return ()
    said = (line.remark for line in plan.job.same_lines if point.id in line.points[1:])
    return (f"same line as {point.same_line_as}", *said)


def point_words(point: Point) -> str:
    """Return the id of a point, with the name of its note or its own name where that says more."""
    more = note_name_text(point) or ("" if point.id.endswith(f".{point.name}") else point.name)
    return f"{point.id} {more}".rstrip()


def found_text(point: Point) -> str:
    """Return the strip, tag and colour of a point's wire as found, as far as they were written down."""
    found = point.found
    named = (("strip ", found.strip), ("tag ", found.tag), ("", found.wire_colour))
    return ", ".join(f"{word}{text}" for word, text in named if text)
