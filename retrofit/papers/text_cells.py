"""Text in columns of a fixed width, for printers and terminals: whatever a user wrote is made printable first."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from itertools import zip_longest

from retrofit.survey.problems import printable


def cells_of(text: str) -> int:
    """Return how many columns a text takes: two for a wide character, none for a mark that joins the one before.

    Unicode Standard Annex #11, East Asian Width; combining marks are those of category Mn and Me.
    """
    return sum(_cells(character) for character in text)


def _cells(character: str) -> int:
    if unicodedata.category(character) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def wrapped(text: str, width: int, indent: str = "") -> list[str]:
    """Return `text` on lines of at most `width` columns, later lines after `indent`; at least one line."""
    lines: list[str] = []
    line, begun = "", False
    for word in printable(text).split(" "):
        joined = f"{line} {word}" if begun else line + word
        if cells_of(joined) <= width:
            line, begun = joined, True
            continue
        if begun:
            lines.append(line.rstrip())
            line = indent
        *full, line = _broken(line + word, width, indent)
        lines += full
        begun = True
    return [*lines, line.rstrip()]


def _broken(text: str, width: int, indent: str) -> list[str]:
    """Return a text without spaces cut after its last hyphen or full stop that fits, else at the last column."""
    lines = [""]
    for character in text:
        if cells_of(lines[-1]) + _cells(character) > width:
            lines[-1:] = _parted(lines[-1], width - _cells(character), indent)
        lines[-1] += character
    return lines


def _parted(line: str, room: int, indent: str) -> tuple[str, str]:
    """Return a full line and what of it goes to the next, which then still fits in `room` columns."""
    at = max(line.rfind("-"), line.rfind(".")) + 1
    if at > len(indent) and cells_of(carried := indent + line[at:]) <= room:
        return line[:at], carried
    return line, indent


def padded(text: str, width: int) -> str:
    """Return `text` filled with spaces up to `width` columns."""
    return text + " " * (width - cells_of(text))


def cut(text: str, width: int) -> str:
    """Return the first line of a text, ending in an ellipsis where there is more."""
    first, *more = wrapped(text, width - 1)
    return f"{first}…" if more else first


def row(cells: Sequence[str], widths: Sequence[int]) -> tuple[str, ...]:
    """Return one row of a table as lines, each cell wrapped in its column, one space between columns."""
    columns = [wrapped(cell, width) for cell, width in zip(cells, widths, strict=True)]
    return tuple(
        " ".join(padded(cell, width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in zip_longest(*columns, fillvalue="")
    )
