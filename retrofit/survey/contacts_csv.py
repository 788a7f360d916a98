"""The contact list of a group as CSV: written for a spreadsheet, and read back with its problems told by row."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from retrofit.survey.base import parse_note
from retrofit.survey.contacts import (
    ContactGroup,
    ContactPoint,
    KeyGroup,
    KeyPoint,
    ListedGroup,
    ListedPoint,
    ShoeGroup,
    ShoePoint,
    listed_identity,
)
from retrofit.survey.csv_columns import Column, columns_of, read_cell, write_cell
from retrofit.survey.faults import Fault
from retrofit.survey.group_checks import group_faults
from retrofit.survey.points import key_contacts
from retrofit.survey.problems import (
    JobFileError,
    Problem,
    ProblemKind,
    RefusedValueError,
    did_you_mean,
    listed,
    shown,
)
from retrofit.survey.shape import shape_faults
from retrofit.survey.user_text import decode_user_text, read_user_bytes

_DELIMITERS = ",;\t"


def contacts_to_csv(group: ListedGroup, delimiter: str = ",") -> str:
    """Return the contact list of `group`, one row per point, lines ended by CR LF (RFC 4180).

    A key group gives a row for every key contact, so that what is found can be filled in.
    """
    columns = columns_of(group)
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow([column.name for column in columns])
    for point in _all_points(group):
        values = point.model_dump()
        writer.writerow([write_cell(column, _value_at(values, column.path)) for column in columns])
    return out.getvalue()


def _all_points(group: ListedGroup) -> Iterator[ListedPoint]:
    if not isinstance(group, KeyGroup):
        yield from group.points
        return
    known = {listed_identity(group, point): point for point in group.points}
    for contact in group.contacts:
        for note in key_contacts(group):
            if note >= 0 and contact.covers(note):
                point = known.get((note, contact.id)) or KeyPoint(note=note)
                yield point.model_copy(update={"contact": contact.id})


def _value_at(values: Any, path: tuple[str, ...]) -> Any:
    for key in path:
        values = values.get(key) if values else None
    return values


def load_contacts(path: Path, group: ListedGroup) -> ListedGroup:
    """Return `group` with the points of the contact list at `path`.  Raises `JobFileError` with all its problems."""
    text = decode_user_text(read_user_bytes(path), str(path))
    return contacts_from_csv(text, str(path), group)


def contacts_from_csv(text: str, file_name: str, group: ListedGroup) -> ListedGroup:
    """Return `group` with the points that `text` lists, in its order.

    Whatever the list has no column for (dated notes, a shoe's curve) stays with the point of the same id.  A row of a
    key group that says nothing is left out.  Raises `JobFileError` with all problems of the list.
    """
    return _Reading(text, file_name, group).group()


@dataclass(frozen=True, slots=True)
class _Row:
    """A record of the list: its row in the spreadsheet, its line in the text (they differ), and its cells."""

    number: int
    line: int
    cells: tuple[str, ...]


class _Reading:
    """One contact list being read against the group that it is for."""

    def __init__(self, text: str, file: str, group: ListedGroup) -> None:
        self.file = file
        self.before = group
        self.known = {listed_identity(group, point): point for point in group.points}
        self.problems: list[Problem] = []
        head, *self.rows = self._rows(text) or [_Row(1, 1, ())]
        self.columns = self._columns(head)

    def group(self) -> ListedGroup:
        """Return the group with its new points, or raise."""
        read = [(row, point) for row in self.rows if (point := self._point(row))]
        self._tell_repeated(read)
        self._stop_at_problems()
        told = [(row, point) for row, point in read if _says_something(point)]
        after = self._with_points([point for _, point in told])
        for fault in group_faults((), after):
            if fault.path[0] == "points" and isinstance(place := fault.path[1], int):
                self._tell(told[place][0], fault.path[2:], fault)
        self._stop_at_problems()
        return after

    def _stop_at_problems(self) -> None:
        if self.problems:
            raise JobFileError(sorted(self.problems, key=lambda problem: problem.line or 0))

    def _with_points(self, points: Sequence[ListedPoint]) -> ListedGroup:
        try:
            return type(self.before).model_validate({**dict(self.before), "points": tuple(points)})
        except ValidationError as error:
            faults = shape_faults(error, type(self.before), {})
            problems = [Problem(f.kind, self.file, None, str(f.path[0]), f.found, f.allowed, f.remedy) for f in faults]
            raise JobFileError(problems) from None

    def _rows(self, text: str) -> list[_Row]:
        """Return the records of the text that are not blank, the heading first."""
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
        rows, line, number = [], 1, 1
        try:
            for cells in reader:
                if any(cell.strip() for cell in cells):
                    rows.append(_Row(number, line, tuple(cells)))
                line, number = reader.line_num + 1, number + 1
        except csv.Error as error:
            remedy = "quotes within a quoted cell are doubled"
            problem = Problem(ProblemKind.SYNTAX, self.file, line, f"row {number}", f"{error}", "CSV", remedy)
            raise JobFileError([problem]) from None
        return rows

    def _columns(self, head: _Row) -> list[Column | None]:
        known = {column.name: column for column in columns_of(self.before)}
        names = [cell.strip().casefold() for cell in head.cells]
        for place, name in enumerate(names):
            if name in names[:place]:
                found = f"the column {shown(name)} twice"
                self._tell(head, (), Fault(ProblemKind.DUPLICATE_COLUMN, (), found, "a column once", "delete one"))
            elif name not in known:
                remedy = did_you_mean(name, known) or "delete the column"
                found = f"the unknown column {shown(name)}"
                self._tell(head, (), Fault(ProblemKind.UNKNOWN_COLUMN, (), found, listed(known, 40), remedy))
        needed = next(iter(known))
        if needed not in names:
            found = f"no column {shown(needed)}"
            self._tell(head, (), Fault(ProblemKind.MISSING_COLUMN, (), found, listed(known, 40), "name it in row 1"))
            self._stop_at_problems()
        return [known.get(name) for name in names]

    def _point(self, row: _Row) -> ListedPoint | None:
        """Return the point that a row describes, None when it has a problem."""
        if len(row.cells) > len(self.columns) and any(row.cells[len(self.columns) :]):
            found = f"{len(row.cells)} cells"
            allowed = f"{len(self.columns)}, as in the heading"
            self._tell(row, (), Fault(ProblemKind.ROW_TOO_LONG, (), found, allowed, "put text with a comma in quotes"))
            return None
        model = _MODELS[type(self.before)]
        data = self._data(row)
        try:
            return model.model_validate(data)
        except ValidationError as error:
            for fault in shape_faults(error, model, data):
                self._tell(row, fault.path, fault)
        return None

    def _data(self, row: _Row) -> dict[str, Any]:
        """Return the row as data for the model, on top of what the list has no column for."""
        cells = zip(self.columns, row.cells, strict=False)
        said = {column: read_cell(column, cell) for column, cell in cells if column is not None}
        before = self._before(said)
        data = before.model_dump(exclude_defaults=True) if before else {}
        for column in filter(None, self.columns):
            _set(data, column.path, said.get(column))
        self._leave_out_first_contact(data, before)
        return data

    def _leave_out_first_contact(self, data: dict[str, Any], before: ListedPoint | None) -> None:
        """Keep the job file's own spelling: the first contact need not be named."""
        named = isinstance(before, KeyPoint) and before.contact is not None
        if isinstance(self.before, KeyGroup) and not named and data.get("contact") == self.before.contacts[0].id:
            del data["contact"]

    def _before(self, said: Mapping[Column, str | None]) -> ListedPoint | None:
        """Return the point that the group has so far for the row."""
        words = {column.name: cell for column, cell in said.items()}
        if not isinstance(self.before, KeyGroup):
            return self.known.get((words.get("id") or "",))
        try:
            note = parse_note(words.get("note"))
        except RefusedValueError:
            return None
        return self.known.get((note, words.get("contact") or self.before.contacts[0].id))

    def _tell_repeated(self, read: list[tuple[_Row, ListedPoint]]) -> None:
        first: dict[tuple[int | str, ...], int] = {}
        for row, point in read:
            name = listed_identity(self.before, point)
            if name in first:
                found = f"{' '.join(str(part) for part in name)} again, first in row {first[name]}"
                column = columns_of(self.before)[0].path
                self._tell(row, column, Fault(ProblemKind.DUPLICATE_ID, (), found, "it once", "delete one of the rows"))
            first.setdefault(name, row.number)

    def _tell(self, row: _Row, path: Sequence[str | int], fault: Fault) -> None:
        column = next((column.name for column in columns_of(self.before) if column.path == tuple(path)), None)
        key = f"row {row.number}" + (f", column {column}" if column else "")
        self.problems.append(Problem(fault.kind, self.file, row.line, key, fault.found, fault.allowed, fault.remedy))


_MODELS: dict[type, type[ListedPoint]] = {KeyGroup: KeyPoint, ContactGroup: ContactPoint, ShoeGroup: ShoePoint}


def _says_something(point: ListedPoint) -> bool:
    return not isinstance(point, KeyPoint) or point != KeyPoint(note=point.note, contact=point.contact)


def _delimiter(text: str) -> str:
    """Return the mark that separates most of the heading's cells."""
    heading = text.lstrip().split("\n", 1)[0]
    return max(_DELIMITERS, key=heading.count)


def _set(data: dict[str, Any], path: tuple[str, ...], value: str | None) -> None:
    """Put a value where `path` leads; None takes it away, and a table that it leaves empty."""
    *outer, last = path
    table = data
    for key in outer:
        table = table.setdefault(key, {})
    table.pop(last, None)
    if value is not None:
        table[last] = value
    for key in outer:
        if not data[key]:
            del data[key]
