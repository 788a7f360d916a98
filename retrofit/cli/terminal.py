"""Text that is safe on a terminal: a name can neither move the cursor, nor colour the screen, nor turn a line round."""

from __future__ import annotations

import os
import shutil
import sys
import textwrap

from retrofit.survey.problems import printable

WIDTH_OF_A_PIPE = 100
"""Columns used when the output is no terminal and `COLUMNS` says nothing."""


def shown(text: object) -> str:
    """Return `text` on one line, with every character that does not print (control, line end, direction) escaped."""
    return printable(str(text))


def width() -> int:
    """Return the columns to write for: the terminal's, or `COLUMNS`, or a fixed width in a pipe."""
    if sys.stdout.isatty() or os.environ.get("COLUMNS"):
        return max(40, shutil.get_terminal_size((80, 24)).columns)
    return WIDTH_OF_A_PIPE


def folded(text: str, first: str = "", rest: str | None = None) -> list[str]:
    """Return `text`, made safe, as lines that fit the width: one after `first`, the others after `rest` or the same."""
    lines = textwrap.wrap(shown(text), width(), initial_indent=first, subsequent_indent=first if rest is None else rest)
    return lines or [first.rstrip()]


def columns(rows: list[tuple[str, ...]]) -> list[str]:
    """Return rows of equal length as aligned lines, two spaces between columns."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join(cell.ljust(size) for cell, size in zip(row, widths, strict=True)).rstrip() for row in rows]
