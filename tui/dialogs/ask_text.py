"""A question that is answered by a line of text."""

from __future__ import annotations

from collections.abc import Callable

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Footer, Input, Static

from tui.dialogs.dialog import Dialog
from tui.widgets.words import plain_lines

Refusal = Callable[[str], str]
"""Returns why an answer is refused, or nothing."""


class AskTextDialog(Dialog[str]):
    """One field with a question above it; what is wrong with the answer stands below while it is typed."""

    def __init__(self, title: str, lines: list[str], text: str = "", refusal: Refusal = lambda _: "") -> None:
        super().__init__()
        self.words, self.lines, self.text, self.refusal = title, lines, text, refusal

    def compose(self) -> ComposeResult:
        """Show the question, the field, and what is wrong with it."""
        with Vertical(id="box") as box:
            box.border_title = plain_lines([self.words])
            box.border_subtitle = "Enter: take it   Esc: give it up"
            yield Static(plain_lines(self.lines), markup=False)
            yield Input(self.text)
            yield Static(id="refusal", markup=False)
        yield Footer(show_command_palette=False)

    @on(Input.Changed)
    def _judge(self, event: Input.Changed) -> None:
        self.query_one("#refusal", Static).update(plain_lines([self.refusal(event.value)]))

    @on(Input.Submitted)
    def _take(self, event: Input.Submitted) -> None:
        refused = self.refusal(event.value)
        self.query_one("#refusal", Static).update(plain_lines([refused]))
        if not refused:
            self.dismiss(event.value)
