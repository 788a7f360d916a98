"""The cells of the tables: short enough for 80 columns, and always taken as they are."""

from __future__ import annotations

from rich.text import Text

from retrofit.cli.describe import message_words
from retrofit.plan.model import Finding, PointPlan
from retrofit.scan.addresses import Address, ChainAddress, MatrixAddress, PinAddress
from retrofit.survey.problems import printable

MARK = "› "
"""Stands before the row under the cursor, so that it is found without colour."""

NO_MARK = " " * len(MARK)
_GAP = "  "
_LONGEST_ID = 22


def plain(words: object) -> Text:
    """Return text that shows `words` as they are: never as markup, and nothing in it moves the cursor."""
    return Text(printable(str(words)), no_wrap=True)


def row_cells(row: tuple[str, ...]) -> tuple[Text, ...]:
    """Return the cells of a row without the cursor's mark; all but the last keep a gap to the next column."""
    first, *others, last = row
    return first_cell(first, marked=False), *(plain(f"{words}{_GAP}") for words in others), plain(last)


def first_cell(words: str, *, marked: bool) -> Text:
    """Return the first cell of a row, with or without the cursor's mark."""
    return plain(f"{MARK if marked else NO_MARK}{words}{_GAP}")


def point_row(plan: PointPlan) -> tuple[str, ...]:
    """Return a point's id within its group, where it is read, what it sends, and its name."""
    point = plan.point
    return (
        _cut(point.id.removeprefix(f"{point.group}.")),
        short_address(plan.address),
        message_words(plan).replace(", channel ", " ch "),
        " ".join(filter(None, (point.name, point.footage))),
    )


def _cut(point_id: str) -> str:
    """Return an id that leaves room for the address; the line about the point shows all of it."""
    return point_id if len(point_id) <= _LONGEST_ID else f"{point_id[: _LONGEST_ID - 1]}…"


def finding_row(finding: Finding) -> tuple[str, ...]:
    """Return a finding's severity, rule and subject; a waived one says so in place of its severity."""
    return ("waived" if finding.waived else finding.severity.value), finding.rule, finding.subject


def short_address(address: Address | None) -> str:
    """Return where a point is read, short enough for a column: `reg 3 bit 5`, `matrix 1 r2 c5`, `pin 22`."""
    match address:
        case ChainAddress():
            return f"reg {address.register} bit {address.bit}"
        case MatrixAddress():
            return f"matrix {address.matrix} r{address.row} c{address.column}"
        case PinAddress():
            return f"pin {address.pin}"
        case None:
            return "none"
        case _:
            return str(address)
