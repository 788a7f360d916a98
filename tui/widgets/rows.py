"""A list with columns: its cursor is marked without colour, and its text is never taken for markup."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.text import Text
from textual import on
from textual.binding import Binding, BindingType
from textual.coordinate import Coordinate
from textual.widgets import DataTable

from tui.widgets.words import MARK, NO_MARK, plain

_GAP = "  "


class Rows(DataTable[Text], inherit_bindings=False):
    """Rows of words, each under a key of its own; the cursor stays with its key when the rows are filled again."""

    DEFAULT_CSS = """
    Rows { height: 1fr; scrollbar-size: 1 1; border: round $foreground 40%; }
    Rows:focus { border: double $foreground; border-title-style: bold; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "cursor_up", "Row above", show=False, id="row-up", tooltip="Go to the row above"),
        Binding("down", "cursor_down", "Row below", show=False, id="row-down", tooltip="Go to the row below"),
        Binding("pageup", "page_up", "Page up", show=False, id="row-page-up", tooltip="Go up by a page"),
        Binding("pagedown", "page_down", "Page down", show=False, id="row-page-down", tooltip="Go down by a page"),
        Binding("home,ctrl+home", "scroll_top", "First row", show=False, id="row-first", tooltip="Go to the first row"),
        Binding("end,ctrl+end", "scroll_bottom", "Last row", show=False, id="row-last", tooltip="Go to the last row"),
        Binding("left", "scroll_left", "Left", show=False, id="row-left", tooltip="See what is cut off on the left"),
        Binding(
            "right", "scroll_right", "Right", show=False, id="row-right", tooltip="See what is cut off on the right"
        ),
        Binding(
            "enter", "select_cursor", "Open row", show=False, id="row-open", tooltip="Open the row under the cursor"
        ),
    ]

    def __init__(self, *headings: str, title: str = "", id: str | None = None) -> None:  # noqa: A002  # textual's own word
        super().__init__(id=id, cursor_type="row", zebra_stripes=False, cell_padding=0)
        self.headings = headings
        self.border_title = title
        self.keys: list[str] = []
        self._words: list[Sequence[str]] = []
        self._marked: int | None = None

    @property
    def current(self) -> str | None:
        """The key of the row under the cursor, None in an empty list."""
        return self.keys[self.cursor_row] if self.cursor_row < len(self.keys) else None

    def fill(self, rows: Sequence[tuple[str, Sequence[str]]]) -> None:
        """Show these rows (key, words by column) in place of all others."""
        before = self.current
        self.clear(columns=True)
        self._marked = None
        for heading in self.headings:
            self.add_column(plain(f"{heading}{_GAP}"))
        self.keys = [key for key, _ in rows]
        self._words = [words for _, words in rows]
        self.add_rows([_cells(words) for words in self._words])
        if before in self.keys:
            self.move_cursor(row=self.keys.index(before), animate=False)
        self._mark(self.cursor_row)

    def go_to(self, key: str) -> None:
        """Put the cursor on the row of this key, if there is one."""
        if key in self.keys:
            self.move_cursor(row=self.keys.index(key), animate=False)

    def change(self, key: str, words: Sequence[str]) -> None:
        """Show other words in one row."""
        row = self.keys.index(key)
        self._words[row] = words
        for column, cell in enumerate(_cells(words, marked=row == self._marked)):
            self.update_cell_at(Coordinate(row, column), cell)

    @on(DataTable.RowHighlighted)
    def _follow(self, event: DataTable.RowHighlighted) -> None:
        self._mark(event.cursor_row)

    def _mark(self, row: int) -> None:
        """Move the mark to a row."""
        for place, marked in ((self._marked, False), (row, True)):
            if place is not None and place < len(self._words) and self._words[place]:
                self.update_cell_at(Coordinate(place, 0), _first(self._words[place][0], marked=marked))
        self._marked = row


def _cells(words: Sequence[str], *, marked: bool = False) -> list[Text]:
    first, *others = words
    ends = [plain(f"{word}{_GAP}") for word in others[:-1]] + [plain(word) for word in others[-1:]]
    return [_first(first, marked=marked), *ends]


def _first(words: str, *, marked: bool) -> Text:
    return plain(f"{MARK if marked else NO_MARK}{words}{_GAP}")
