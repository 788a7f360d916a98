"""The list of keys, made from the actions that work at this moment."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from rich.table import Table
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from tui.actions import Live
from tui.dialogs.dialog import Dialog
from tui.widgets.words import plain_lines


class HelpDialog(Dialog[None]):
    """Every key with what it does."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "question_mark",
            "give_up",
            "Close",
            key_display="?",
            show=False,
            id="close-help",
            tooltip="Back to the room",
        ),
    ]

    def __init__(self, actions: Sequence[Live]) -> None:
        super().__init__()
        self.actions = actions

    def compose(self) -> ComposeResult:
        """Show the list; it scrolls when the screen is low."""
        with VerticalScroll(id="box") as box:
            box.border_title = "Keys that work here"
            yield Static(self._listing())

    def on_resize(self) -> None:
        """Say whether the list goes on below, and how it is closed."""
        self.call_after_refresh(self._say_more)

    def _say_more(self) -> None:
        box = self.query_one("#box", VerticalScroll)
        box.border_subtitle = "↓ shows more, Esc closes" if box.max_scroll_y else "Esc closes"

    def _listing(self) -> Table:
        table = Table.grid(padding=(0, 2))
        for live in self.actions:
            table.add_row(plain_lines([", ".join(live.keys)]), plain_lines([live.help]))
        return table
