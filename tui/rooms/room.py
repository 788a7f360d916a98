"""What all rooms have in common: the frame around them, the job they show, and what they say where it is not there."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container
from textual.screen import Screen
from textual.widget import Widget
from textual.widgets import Footer, Static

from tui.desk.state import DeskState
from tui.keys import THROUGH_THE_PARTS
from tui.widgets.frame import Notice, RoomsLine, TopLine
from tui.widgets.words import plain_lines

if TYPE_CHECKING:
    from tui.app import RetrofitApp

LEAST_COLUMNS, LEAST_LINES = 80, 24
"""Every room is laid out for this size; a smaller terminal is told so."""


class Room(Screen[None], inherit_bindings=False):
    """A room.  A subclass has a `NAME` of `ROOMS`, composes its body and shows a job in it.

    `NEEDS_PLAN` is False for rooms that can do something without a sound job.  `show_job` is called whenever the job
    has changed and the room is looked at, never while it is out of sight.
    """

    NAME: ClassVar[str]
    NEEDS_PLAN: ClassVar[bool] = True
    AUTO_FOCUS = "#body *"
    DEFAULT_CSS = """
    Room { layout: vertical; }
    Room #body { height: 1fr; }
    Room #hindrance { height: 1fr; display: none; padding: 1 2; }
    Room #too-small { height: 1; display: none; text-style: reverse; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        *THROUGH_THE_PARTS,
        Binding("escape", "leave", "Leave field", show=False, id="leave", tooltip="Leave a field, or clear the notice"),
    ]

    app: RetrofitApp

    def __init__(self) -> None:
        super().__init__()
        self._shown: DeskState | None = None
        self._ever = False

    def compose_body(self) -> Iterable[Widget]:
        """Yield the room's own widgets."""
        raise NotImplementedError

    def show_job(self, state: DeskState) -> None:
        """Show the job; `state.plan` is there where `NEEDS_PLAN` is True."""
        raise NotImplementedError

    def show_nothing(self) -> None:
        """Show that no job is open; only rooms that need no plan are asked to."""

    def compose(self) -> ComposeResult:
        """Lay the frame around the body."""
        yield TopLine()
        yield RoomsLine(self.NAME)
        yield Static(id="too-small", markup=False)
        yield Static(id="hindrance", markup=False)
        with Container(id="body"):
            yield from self.compose_body()
        yield Notice()
        yield Footer(show_command_palette=False)

    def on_screen_resume(self) -> None:
        """Catch up with what changed while the room was out of sight."""
        self.refresh_job()

    def on_resize(self) -> None:
        """Say how large the terminal has to be when it is smaller."""
        size = self.app.size
        notice = self.query_one("#too-small", Static)
        notice.display = size.width < LEAST_COLUMNS or size.height < LEAST_LINES
        notice.update(f"{size.width} x {size.height}: too small, {LEAST_COLUMNS} x {LEAST_LINES} are needed")

    def refresh_job(self) -> None:
        """Show the job as it stands, if that is not what is shown."""
        state = self.app.state
        if self._ever and state is self._shown:
            return
        self._ever, self._shown = True, state
        self.query_one(TopLine).show(state)
        hindrance = self._hindrance(state)
        self.query_one("#hindrance", Static).update(plain_lines(hindrance))
        self.query_one("#hindrance").display = bool(hindrance)
        self.query_one("#body").display = not hindrance
        if hindrance:
            return
        if state is None:
            self.show_nothing()
        else:
            self.show_job(state)

    def say(self, *lines: str, bad: bool = False) -> None:
        """Show a notice in this room."""
        self.query_one(Notice).say(*lines, bad=bad)

    def action_leave(self) -> None:
        """Go from a field back to the first list of the room, and take the notice away."""
        self.say()
        self.focus_body()

    def focus_body(self) -> None:
        """Put the keys into the first part of the room that takes any."""
        first = next((widget for widget in self.query("#body *") if widget.focusable), None)
        if first is not None:
            first.focus()

    def _hindrance(self, state: DeskState | None) -> list[str]:
        if not self.NEEDS_PLAN or (state is not None and state.plan is not None):
            return []
        if state is None:
            return ["No job is open.", "", "1 goes to Start, which opens a job, begins a new one, or copies the demo."]
        return [
            "The job file has problems, so nothing can be planned yet.",
            "",
            *(str(problem) for problem in state.problems[:12]),
            "",
            "2 goes to Found, where they can be mended.",
        ]
