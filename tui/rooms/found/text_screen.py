"""The whole job as text, with its problems below while it is edited."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Footer, Static, TextArea

from retrofit.survey.problems import Problem
from tui.desk.state import DeskState
from tui.dialogs.dialog import Dialog
from tui.widgets.words import plain_lines

DRAFT = "whole text"
_JUDGE_AFTER_S = 0.3
_SOUND = "nothing is wrong with this text; Ctrl+O keeps it, Esc leaves it"


class TextScreen(Dialog[None]):
    """An editor of the text; sound text is kept in the job, any other as what was typed."""

    DEFAULT_CSS = """
    TextScreen { align: left top; background: $surface; }
    TextScreen TextArea { height: 1fr; border: round $foreground; }
    TextScreen #problems { height: 6; padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "ctrl+o",
            "keep",
            "Keep",
            id="keep-text",
            tooltip="Make this text the job, if nothing is wrong with it",
            priority=True,
        ),
    ]

    def __init__(self, state: DeskState) -> None:
        super().__init__()
        self.state = state

    def compose(self) -> ComposeResult:
        """Show the text, what was typed at an earlier sitting first."""
        yield TextArea(self.state.text, show_line_numbers=True, tab_behavior="focus")
        yield Static(id="problems", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Begin at the first problem, with what was typed before and not kept."""
        area = self.query_one(TextArea)
        drafts = self.app.drafts
        if drafts is not None and (typed := drafts.get(DRAFT)) is not None:
            area.load_text(typed)
        line = next((problem.line for problem in self.state.problems if problem.line), 1)
        area.move_cursor((line - 1, 0), center=True)
        area.focus()
        self._judge()

    @on(TextArea.Changed)
    def _typed(self) -> None:
        text = self.query_one(TextArea).text
        self.app.draft(DRAFT, text if text != self.state.text else None)
        self.set_timer(_JUDGE_AFTER_S, self._judge)

    def _judge(self) -> None:
        """Have the text judged in the thread."""
        text, desk = self.query_one(TextArea).text, self.app.desk
        if desk is None:
            return
        judged = self.app.clerk.do(lambda: desk.trial_text(text))
        judged.add_done_callback(lambda done: self.app.call_later(self._tell, text, done.result()))

    def _tell(self, text: str, problems: tuple[Problem, ...]) -> None:
        if not self.is_mounted or text != self.query_one(TextArea).text:
            return
        lines = [str(problem) for problem in problems[:6]] or [
            "nothing is wrong with this text; Ctrl+O keeps it, Esc leaves it"
        ]
        self.query_one("#problems", Static).update(plain_lines(lines))

    def action_keep(self) -> None:
        """Make the text the job; a refusal is told by the room, and the text stays as what was typed."""
        text = self.query_one(TextArea).text
        self.app.draft(DRAFT, None)
        self.app.edit_text("edited as text", lambda _before, _name: text)
        self.dismiss(None)
