"""A question that is answered by yes or no."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Footer, Static

from tui.dialogs.dialog import Dialog
from tui.widgets.words import plain_lines


class AskDialog(Dialog[bool]):
    """Says what would be done, and does it only when that is agreed to."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "answer(True)", "Yes", id="yes", tooltip="Do it"),
        Binding("n", "answer(False)", "No", id="no", tooltip="Leave everything as it is"),
    ]

    def __init__(self, title: str, lines: list[str]) -> None:
        super().__init__()
        self.words, self.lines = title, lines

    def compose(self) -> ComposeResult:
        """Show the question and what it means."""
        with VerticalScroll(id="box") as box:
            box.border_title = plain_lines([self.words])
            box.border_subtitle = "y: yes   n: no"
            yield Static(plain_lines(self.lines), markup=False)
        yield Footer(show_command_palette=False)

    def action_answer(self, answer: bool) -> None:
        """Close with the answer."""
        self.dismiss(answer)
