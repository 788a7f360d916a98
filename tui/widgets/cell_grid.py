"""Points as cells: a row for each group, a letter for each point, and a cursor that can be seen without colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.segment import Segment
from rich.style import Style
from textual.binding import Binding, BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from retrofit.survey.problems import printable
from tui.widgets.words import MARK, NO_MARK, cut

LABEL = 14
"""Columns before the first cell: the cursor's mark and the group's id."""


@dataclass(frozen=True, slots=True)
class CellRow:
    """One group: its key, what stands before its cells, and one letter for each of its points in order of wiring."""

    key: str
    label: str
    letters: str


@dataclass(frozen=True, slots=True)
class _Line:
    row: int
    start: int


class CellGrid(ScrollView, can_focus=True, inherit_bindings=False):
    """Rows of cells; a row that is longer than the screen goes on below."""

    DEFAULT_CSS = """
    CellGrid { height: 1fr; border: round $foreground 40%; scrollbar-size: 1 1; scrollbar-gutter: stable; }
    CellGrid:focus { border: double $foreground; border-title-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", "Cell left", show=False, id="cell-left", tooltip="Go to the point before"),
        Binding("right", "step(1)", "Cell right", show=False, id="cell-right", tooltip="Go to the next point"),
        Binding("up", "row(-1)", "Group above", show=False, id="cell-up", tooltip="Go to the group above"),
        Binding("down", "row(1)", "Group below", show=False, id="cell-down", tooltip="Go to the group below"),
        Binding(
            "home", "edge(False)", "First point", show=False, id="cell-first", tooltip="Go to the group's first point"
        ),
        Binding("end", "edge(True)", "Last point", show=False, id="cell-last", tooltip="Go to the group's last point"),
        Binding("enter", "choose", "Open", show=False, id="cell-open", tooltip="Open the point under the cursor"),
    ]

    @dataclass
    class Moved(Message):
        """The cursor has come to another cell."""

        grid: CellGrid
        key: str
        place: int

        @property
        def control(self) -> CellGrid:
            """The grid."""
            return self.grid

    @dataclass
    class Chosen(Moved):
        """Enter was pressed on a cell."""

    def __init__(self, title: str = "", id: str | None = None) -> None:  # noqa: A002  # textual's own word
        super().__init__(id=id)
        self.border_title = title
        self._rows: list[CellRow] = []
        self._lines: list[_Line] = []
        self.cursor = (0, 0)
        self._wide = 1

    @property
    def current(self) -> tuple[str, int] | None:
        """Group and place of the cell under the cursor, None in an empty grid."""
        row, place = self.cursor
        return (self._rows[row].key, place) if row < len(self._rows) else None

    def fill(self, rows: Sequence[CellRow]) -> None:
        """Show these groups in place of all others; the cursor stays where it is as far as it can."""
        before = self.current
        self._rows = list(rows)
        keys = [row.key for row in rows]
        row = keys.index(before[0]) if before is not None and before[0] in keys else 0
        place = before[1] if before is not None and before[0] in keys else 0
        self.cursor = (row, min(place, max(len(self._rows[row].letters) - 1, 0))) if rows else (0, 0)
        self._lay_out()

    def show_letters(self, key: str, letters: str) -> None:
        """Show other letters in one row, as many as it has."""
        for number, row in enumerate(self._rows):
            if row.key == key and row.letters != letters:
                self._rows[number] = CellRow(row.key, row.label, letters)
                self.refresh()

    def go_to(self, key: str, place: int) -> None:
        """Put the cursor on a cell."""
        for number, row in enumerate(self._rows):
            if row.key == key and place < len(row.letters):
                self._move(number, place)

    def action_step(self, by: int) -> None:
        """Go along the points; after the last of a group comes the first of the next."""
        row, place = self.cursor
        if not self._rows:
            return
        if 0 <= place + by < len(self._rows[row].letters):
            self._move(row, place + by)
        elif 0 <= row + by < len(self._rows):
            self._move(row + by, 0 if by > 0 else max(len(self._rows[row + by].letters) - 1, 0))

    def action_row(self, by: int) -> None:
        """Go to the group above or below, or to the part of this one that is shown there."""
        row, place = self.cursor
        wide = self._wide
        if not self._rows:
            return
        if 0 <= place + by * wide < len(self._rows[row].letters):
            self._move(row, place + by * wide)
        elif by > 0 and place // wide < (len(self._rows[row].letters) - 1) // wide:
            self._move(row, len(self._rows[row].letters) - 1)
        elif 0 <= row + by < len(self._rows):
            letters = len(self._rows[row + by].letters)
            start = 0 if by > 0 else max(letters - 1, 0) // wide * wide
            self._move(row + by, min(start + place % wide, max(letters - 1, 0)))

    def action_edge(self, last: bool) -> None:
        """Go to the first or the last point of the group."""
        row, _ = self.cursor
        if self._rows and self._rows[row].letters:
            self._move(row, len(self._rows[row].letters) - 1 if last else 0)

    def action_choose(self) -> None:
        """Say that the cell under the cursor was chosen."""
        if self.current is not None:
            self.post_message(self.Chosen(self, *self.current))

    def _move(self, row: int, place: int) -> None:
        self.cursor = (row, place)
        line = next(n for n, line in enumerate(self._lines) if line == _Line(row, place // self._wide * self._wide))
        self.scroll_to_region(Region(0, line, 1, 1), animate=False)
        self.refresh()
        self.post_message(self.Moved(self, self._rows[row].key, place))

    def on_resize(self) -> None:
        """Lay the cells out for the new width."""
        self._lay_out()

    def _lay_out(self) -> None:
        wide = max(self.scrollable_content_region.width - LABEL, 8)
        self._wide = wide  # what the lines were laid out for: a scroll bar that comes with them changes the region
        self._lines = [
            _Line(number, start)
            for number, row in enumerate(self._rows)
            for start in range(0, max(len(row.letters), 1), wide)
        ]
        self.virtual_size = Size(self.scrollable_content_region.width, len(self._lines))
        self.refresh()

    def render_line(self, y: int) -> Strip:
        """Return one line: the label, then as many cells as there is room for."""
        at = y + self.scroll_offset.y
        width = self.scrollable_content_region.width
        if at >= len(self._lines):
            return Strip.blank(width, self.rich_style)
        line = self._lines[at]
        row = self._rows[line.row]
        here = line.row == self.cursor[0]
        label = (MARK if here else NO_MARK) + cut(printable(row.label), LABEL - 3) if line.start == 0 else NO_MARK
        segments = [Segment(f"{label:<{LABEL}}", self.rich_style)]
        segments += self._cells(row.letters[line.start : line.start + self._wide], line.start, here=here)
        return Strip(segments).adjust_cell_length(width, self.rich_style)

    def _cells(self, letters: str, start: int, *, here: bool) -> list[Segment]:
        place = self.cursor[1] - start
        if not here or not 0 <= place < len(letters):
            return [Segment(letters, self.rich_style)]
        under = self.rich_style + Style(reverse=True, bold=True, underline=True)
        parts = ((letters[:place], self.rich_style), (letters[place], under), (letters[place + 1 :], self.rich_style))
        return [Segment(text, style) for text, style in parts if text]
