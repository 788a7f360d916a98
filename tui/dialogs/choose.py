"""One of several: a list from which Enter takes one, and below it what is to be known of the one under the cursor."""

from __future__ import annotations

from collections.abc import Sequence

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import DataTable, Footer, Static

from tui.dialogs.dialog import Dialog
from tui.widgets.rows import Rows
from tui.widgets.words import plain_lines


class ChooseDialog(Dialog[str]):
    """Closes with the key of the row that was taken; the cursor begins at `now`.

    The last of a row's words has no column: it stands below the list while the cursor is on the row.
    """

    DEFAULT_CSS = """
    ChooseDialog > #box { width: 100%; max-width: 110; }
    ChooseDialog Rows { height: auto; max-height: 12; border: none; }
    ChooseDialog Rows:focus { border: none; }
    ChooseDialog #why { height: 3; margin-top: 1; }
    """

    def __init__(
        self,
        title: str,
        lines: list[str],
        headings: Sequence[str],
        rows: Sequence[tuple[str, Sequence[str]]],
        now: str = "",
    ) -> None:
        super().__init__()
        self.words, self.lines, self.headings, self.rows, self.now = title, lines, headings, rows, now

    def compose(self) -> ComposeResult:
        """Show what the choice means, and the list."""
        with Vertical(id="box") as box:
            box.border_title = plain_lines([self.words])
            box.border_subtitle = "Enter: take it   Esc: give it up"
            yield Static(plain_lines(self.lines), markup=False)
            yield Rows(*self.headings, id="choices")
            yield Static(id="why", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Fill the list."""
        rows = self.query_one(Rows)
        rows.fill([(key, words[:-1]) for key, words in self.rows])
        rows.go_to(self.now)
        rows.focus()

    @on(DataTable.RowHighlighted)
    def _say_why(self) -> None:
        current = self.query_one(Rows).current
        why = next((words[-1] for key, words in self.rows if key == current), "")
        self.query_one("#why", Static).update(plain_lines([why]))

    @on(DataTable.RowSelected)
    def _take(self) -> None:
        self.dismiss(self.query_one(Rows).current)
