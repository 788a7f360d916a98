"""The room Start: where a job comes from."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import DataTable, Static

from retrofit.cli.demo import DEMOS, copy_demos
from retrofit.cli.output import Stop
from tui.desk.recent import forget, recent_jobs
from tui.desk.state import DeskState
from tui.dialogs.ask_text import AskTextDialog
from tui.rooms.room import Room
from tui.rooms.start.new_job import NewJobDialog
from tui.widgets.rows import Rows
from tui.widgets.words import plain_lines

_WELCOME = [
    "A job is one console: what was found at it, and what is wanted of it.",
    "",
    "d  copies two invented consoles to try everything on",
    "n  begins the job of a console just seen, from a few questions",
    "o  opens a job file by its name",
    "",
    "Enter opens the job under the cursor. ? lists every key, Ctrl+P finds an action by its name.",
]


class StartRoom(Room):
    """Jobs that were open last, and the ways to another."""

    NAME: ClassVar[str] = "start"
    NEEDS_PLAN: ClassVar[bool] = False
    DEFAULT_CSS = "StartRoom #welcome { height: auto; padding: 1 1; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("d", "demo", "Demo", id="copy-demo", tooltip="Copy the two demo consoles and open one"),
        Binding("n", "new", "New job", id="new-job", tooltip="Begin the job of a console just seen"),
        Binding("o", "open", "Open", id="open-job", tooltip="Open a job file by its name"),
        Binding("x", "forget", "Forget", id="forget-job", tooltip="Take the job under the cursor off this list"),
    ]

    def compose_body(self) -> Iterable[Widget]:
        """Yield what to do, and the jobs that were open last."""
        yield Static(plain_lines(_WELCOME), id="welcome", markup=False)
        yield Rows("job", "folder", title="Open last", id="recent")

    def show_job(self, state: DeskState) -> None:  # noqa: ARG002  # the list is the same whatever is open
        """Show the list as it is now."""
        self.show_nothing()

    def show_nothing(self) -> None:
        """Show the list as it is now."""
        rows = [(str(path), (path.name, _folder(path))) for path in recent_jobs()]
        self.query_one(Rows).fill(rows)

    @on(DataTable.RowSelected)
    def _open_row(self) -> None:
        current = self.query_one(Rows).current
        if current is not None:
            self.app.open_job(Path(current))

    def action_forget(self) -> None:
        """Take the job under the cursor off the list; its file stays."""
        current = self.query_one(Rows).current
        if current is not None:
            forget(Path(current))
            self.show_nothing()

    def action_open(self) -> None:
        """Ask for a file and open it."""
        dialog = AskTextDialog("Open a job", ["The job file, with its folder:"], "", _no_file)
        self.app.push_screen(dialog, lambda answer: self.app.open_job(Path(answer).expanduser()) if answer else None)

    def action_demo(self) -> None:
        """Ask for a folder, copy the demo consoles there, and open the first."""
        lines = ["Two invented consoles, one gutted and one that plays, are copied into this folder:"]
        self.app.push_screen(AskTextDialog("Demo consoles", lines, "demo-console"), self._copy_demo)

    def action_new(self) -> None:
        """Ask what was found and begin a job."""
        self.app.push_screen(NewJobDialog(), lambda path: self.app.open_job(path) if path else None)

    def _copy_demo(self, answer: str | None) -> None:
        if not answer:
            return
        folder = Path(answer).expanduser()
        try:
            copy_demos(folder, force=False)
        except Stop as refused:
            self.say(*refused.lines, bad=True)
        else:
            self.app.open_job(folder / DEMOS[0])


def _folder(path: Path) -> str:
    return str(path.parent) if path.is_file() else f"{path.parent} (no such file now)"


def _no_file(answer: str) -> str:
    return "" if Path(answer).expanduser().is_file() else "there is no such file"
