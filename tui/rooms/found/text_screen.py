"""The whole job as text, with its problems below while it is edited."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.timer import Timer
from textual.widgets import Footer, Static, TextArea

from retrofit.survey.problems import Problem
from tui.desk.state import DeskState
from tui.dialogs.dialog import Dialog
from tui.widgets.words import plain_lines

DRAFT = "whole text"
_JUDGE_AFTER_S = 0.3
_SOUND = "nothing is wrong with this text; Ctrl+O keeps it, Esc leaves it"
_EARLIER = "This was typed before and not kept.  Ctrl+G gives it up and shows the file as it is."


class TextScreen(Dialog[None]):
    """An editor of the text; sound text is kept in the job, any other as what was typed."""

    DEFAULT_CSS = """
    TextScreen { align: left top; background: $surface; }
    TextScreen TextArea, TextScreen TextArea:focus { height: 1fr; border: round $foreground; padding: 0; }
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
        Binding(
            "ctrl+n",
            "next_problem",
            "Next problem",
            id="next-problem",
            tooltip="Go to the line of the next problem",
            priority=True,
        ),
        Binding(
            "ctrl+g",
            "give_up_text",
            "File as it is",
            id="give-up-text",
            tooltip="Give up what was typed and show the file as it is",
            priority=True,
        ),
    ]

    def __init__(self, state: DeskState, line: int = 1) -> None:
        super().__init__()
        self.state, self.line = state, line
        self._problems: tuple[Problem, ...] = ()
        self._due: Timer | None = None

    def compose(self) -> ComposeResult:
        """Show the text, what was typed at an earlier sitting first."""
        yield TextArea(self.state.text, show_line_numbers=True, tab_behavior="focus")
        yield Static(id="problems", markup=False)
        yield Footer(show_command_palette=False)

    @property
    def _area(self) -> TextArea:
        return self.query_one(TextArea)

    def on_mount(self) -> None:
        """Begin at the line that is asked for, with what was typed before and not kept."""
        drafts = self.app.drafts
        typed = None if drafts is None else drafts.get(DRAFT)
        if typed is not None and typed != self.state.text:
            self._area.load_text(typed)
            self._area.border_title = _EARLIER
        self._go_to(self.line)
        self._area.focus()
        self._judge(self._tell)

    def _go_to(self, line: int) -> None:
        self._area.move_cursor((line - 1, 0), center=True)

    @on(TextArea.Changed)
    def _typed(self) -> None:
        """Keep what is typed, and have it judged when the hands rest."""
        text = self._area.text
        self.app.draft(DRAFT, text if text != self.state.text else None)
        if self._due is not None:
            self._due.stop()
        self._due = self.set_timer(_JUDGE_AFTER_S, lambda: self._judge(self._tell))

    def _judge(self, then: Callable[[str, tuple[Problem, ...]], None]) -> None:
        """Have the text judged in the thread."""
        text, desk = self._area.text, self.app.desk
        if desk is None:
            return
        judged = self.app.clerk.do(lambda: desk.trial_text(text))
        judged.add_done_callback(lambda done: self.app.call_later(then, text, done.result()))

    def _tell(self, text: str, problems: tuple[Problem, ...]) -> None:
        if self not in self.app.screen_stack or text != self._area.text:
            return
        self._problems = problems
        self.query_one("#problems", Static).update(plain_lines([_short(one) for one in problems[:5]] or [_SOUND]))

    def action_keep(self) -> None:
        """Make the text the job if nothing is wrong with it; what is wrong is told, and the text stays."""
        self._judge(self._keep)

    def _keep(self, text: str, problems: tuple[Problem, ...]) -> None:
        if self not in self.app.screen_stack:
            return
        self._tell(text, problems)
        if problems:
            self._go_to(problems[0].line or 1)
            return
        self.app.edit_text("edited as text", lambda _before, _name: text)
        self.app.draft(DRAFT, None)
        self.dismiss(None)

    def action_next_problem(self) -> None:
        """Go to the problem below the cursor, after the last to the first."""
        lines = [problem.line for problem in self._problems if problem.line]
        here = self._area.cursor_location[0] + 1
        if lines:
            self._go_to(next((line for line in lines if line > here), lines[0]))

    def action_give_up_text(self) -> None:
        """Show the file as it is; the text that is given up can be brought back by the editor's own undo."""
        self._area.border_title = ""
        self._area.replace(self.state.text, (0, 0), self._area.document.end)
        self._go_to(self.line)


def _short(problem: Problem) -> str:
    """Return a problem without its file, which is the one that is looked at."""
    words = str(problem).removeprefix(f"{problem.file}:").removeprefix(f"{problem.file} ")
    return f"line {words}" if problem.line else words
