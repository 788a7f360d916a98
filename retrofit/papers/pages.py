"""Plain-text pages of 80 columns and 60 lines, each of which stands by itself when the pages are separated."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from retrofit.papers.text_cells import cells_of, cut, padded
from retrofit.plan.model import ConversionPlan

WIDTH = 80
LINES = 60
CONTINUED = "(continued)"
_LONGEST_REPEATED = 8
_HEAD_LINES = 4


@dataclass(frozen=True, slots=True)
class Block:
    """Lines that belong together: a heading, said again after a page break, and rows of lines that stay whole."""

    heading: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...] = ()


def paged(plan: ConversionPlan, title: str, columns: str, blocks: Iterable[Block]) -> str:
    """Return the pages as one text; every page but the last has exactly `LINES` lines.

    On each page stand the title, the instrument, the plan's digest, the number of the page, and the column heads.
    """
    pages = _Pages(LINES - _HEAD_LINES)
    for block in blocks:
        pages.add(block)
    heads = [_head(plan, title, columns, number, len(pages.pages)) for number in range(1, len(pages.pages) + 1)]
    whole = [_filled([*head, *body]) for head, body in zip(heads, pages.pages, strict=True)]
    return "\n".join(line for page in whole for line in page).rstrip("\n") + "\n"


def _head(plan: ConversionPlan, title: str, columns: str, number: int, count: int) -> list[str]:
    page = f"page {number} of {count}"
    first = padded(cut(title, WIDTH - len(page) - 2), WIDTH - len(page)) + page
    digest = f"plan {plan.digest}"
    return [
        first,
        padded(cut(plan.job.instrument.name, WIDTH - len(digest) - 2), WIDTH - len(digest)) + digest,
        columns,
        "-" * WIDTH,
    ]


def _filled(lines: list[str]) -> list[str]:
    return lines + [""] * (LINES - len(lines))


class _Pages:
    """Bodies of pages, filled line by line."""

    def __init__(self, height: int) -> None:
        self.height = height
        self.pages: list[list[str]] = [[]]

    def add(self, block: Block) -> None:
        """Write a block; its heading stays with its first row, and no row that fits a page is torn."""
        first = block.rows[0] if block.rows else ()
        if len(block.heading) + len(first) > self._left():
            self._turn()
        self._write(block.heading)
        for row in block.rows:
            if len(row) > self._left():
                self._turn()
                self._write(_again(block.heading))
            self._write(row)
        if self._left():
            self.pages[-1].append("")

    def _left(self) -> int:
        return self.height - len(self.pages[-1])

    def _turn(self) -> None:
        if self.pages[-1]:
            self.pages.append([])

    def _write(self, lines: Sequence[str]) -> None:
        for line in lines:
            if not self._left():
                self._turn()
            self.pages[-1].append(line)


def _again(heading: Sequence[str]) -> tuple[str, ...]:
    if not heading:
        return ()
    last = heading[-1]
    whole = len(heading) <= _LONGEST_REPEATED and cells_of(last) + len(CONTINUED) < WIDTH
    return (*heading[:-1], f"{last} {CONTINUED}") if whole else (cut(f"{CONTINUED} {heading[0]}", WIDTH),)
