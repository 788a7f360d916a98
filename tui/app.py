"""The text screens as one program: rooms, the open job, themes, and what works everywhere."""

from __future__ import annotations

import asyncio
import importlib
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import App
from textual.binding import Binding, BindingType
from textual.command import Provider
from textual.screen import Screen
from textual.widgets import TextArea

from retrofit.survey.problems import JobFileError
from retrofit.survey.save import Edit
from tui.actions import ActionsProvider, live_actions
from tui.clerk import Changed, Clerk, Contested, Refused, fault_lines
from tui.desk.desk import Desk, TextEdit, ours_beside
from tui.desk.drafts import Drafts
from tui.desk.recent import remember
from tui.desk.state import DeskState
from tui.dialogs.ask import AskDialog
from tui.dialogs.help import HelpDialog
from tui.rooms.room import Room
from tui.themes import THEMES, next_theme
from tui.widgets.frame import ROOMS

_DRAFT_EVERY_S = 0.3


def _room(name: str) -> Callable[[], Screen[None]]:
    """Return what makes a room when it is first entered; its file is read then."""

    def make() -> Screen[None]:
        module = importlib.import_module(f"tui.rooms.{name}.room")
        made = getattr(module, f"{name.capitalize()}Room")()
        if not isinstance(made, Room):
            raise TypeError(f"{module.__name__} has no room")
        return made

    return make


class RetrofitApp(App[None], inherit_bindings=False):
    """One job on the bench.

    Rooms read `state` and change the job by `edit`, `edit_text`, `undo` and `redo`, which return at once; the change
    comes back as a new state in `Room.show_job`, or as a notice that says why it was refused.
    """

    TITLE = "retrofit"
    CSS = "SearchIcon { display: none; }"
    MODES: ClassVar[dict[str, str | Callable[[], Screen[None]]]] = {name: _room(name) for name in ROOMS}
    DEFAULT_MODE = "start"
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {ActionsProvider}
    BINDINGS: ClassVar[list[BindingType]] = [
        *(
            Binding(str(number), f"go({name!r})", title, show=False, id=f"go-{name}", tooltip=f"Go to the room {title}")
            for number, (name, title) in enumerate(ROOMS.items(), 1)
        ),
        Binding("question_mark", "help", "Keys", key_display="?", id="help", tooltip="List every key that works here"),
        Binding(
            "ctrl+p", "command_palette", "Actions", id="actions", tooltip="Find an action by its name", priority=True
        ),
        Binding(
            "ctrl+z", "undo", "Undo", show=False, id="undo", tooltip="Take the last edit of the job back", priority=True
        ),
        Binding(
            "ctrl+y",
            "redo",
            "Redo",
            show=False,
            id="redo",
            tooltip="Make the edit again that was taken back",
            priority=True,
        ),
        Binding(
            "ctrl+t",
            "theme",
            "Theme",
            show=False,
            id="theme",
            tooltip="Next look: bench, daylight, dark room, monochrome",
        ),
        Binding("ctrl+q", "quit", "Quit", id="quit", tooltip="Leave; everything that was typed is kept", priority=True),
    ]

    def __init__(self, path: Path | None = None) -> None:
        super().__init__()
        self.path = path
        self.state: DeskState | None = None
        self.desk: Desk | None = None
        self.drafts: Drafts | None = None
        self.clerk = Clerk(self.post_message)
        self._drafts_due = False
        self._leaving = False
        for theme in THEMES.values():
            self.register_theme(theme)
        self.theme = "monochrome" if "NO_COLOR" in self.ansi_environment() else "bench"

    @staticmethod
    def ansi_environment() -> dict[str, str]:
        """Return the environment that says whether colour is wanted."""
        import os  # noqa: PLC0415  # read here alone

        return dict(os.environ)

    def on_mount(self) -> None:
        """Open the job that was named."""
        if self.path is not None:
            self.open_job(self.path)

    def open_job(self, path: Path) -> None:
        """Open a job file in place of the one that is open, and go to Found; a refusal becomes a notice."""

        def opened() -> DeskState:
            desk = Desk(path)
            self.desk, self.drafts = desk, Drafts(path)
            return desk.state

        def work() -> None:
            try:
                state = opened()
            except JobFileError as error:
                self.post_message(Refused("open", tuple(map(str, error.problems)), self.state))
            except Exception as error:  # noqa: BLE001  # a thread's error is told, never swallowed
                self.post_message(Refused("open", fault_lines(error), self.state))
            else:
                remember(path)
                self.post_message(Changed("open", state))

        self.clerk.do(work)

    def edit(self, label: str, edit: Edit) -> None:
        """Change the job by an edit of its document (`retrofit.survey.save.set_value` and the like)."""
        self._change(label, lambda desk: desk.edit(label, edit))

    def edit_text(self, label: str, edit: TextEdit) -> None:
        """Change the job by an edit of its whole text."""
        self._change(label, lambda desk: desk.edit_text(label, edit))

    def draft(self, key: str, text: str | None) -> None:
        """Keep what stands in a field and is no part of the job yet; None when it is, or was given up."""
        if self.drafts is None:
            return
        if text is None:
            self.drafts.drop(key)
        else:
            self.drafts.put(key, text)
        if not self._drafts_due:
            self._drafts_due = True
            self.set_timer(_DRAFT_EVERY_S, self._write_drafts)

    def say(self, *lines: str, bad: bool = False) -> None:
        """Show a notice in the room that is open, whatever dialog lies over it."""
        room = next((screen for screen in reversed(self.screen_stack) if isinstance(screen, Room)), None)
        if room is not None:
            room.say(*lines, bad=bad)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002  # textual's own
        """Leave undo and redo to an editor of text while it has the keys."""
        return not (action in ("undo", "redo") and isinstance(self.focused, TextArea))

    def action_go(self, name: str) -> None:
        """Go to a room."""
        if not self.screen.is_modal:
            self.switch_mode(name)

    def action_help(self) -> None:
        """List the actions that work where the cursor is."""
        self.push_screen(HelpDialog(live_actions(self, self.screen)))

    def action_undo(self) -> None:
        """Take the last edit back."""
        label = self.state.undoes if self.state else ""
        if not label:
            self.say("there is nothing to undo")
            return
        self._change(f"undone: {label}", lambda desk: desk.undo())

    def action_redo(self) -> None:
        """Make the edit again that was taken back last."""
        label = self.state.redoes if self.state else ""
        if not label:
            self.say("there is nothing to do again")
            return
        self._change(f"done again: {label}", lambda desk: desk.redo())

    def action_theme(self) -> None:
        """Go to the next look."""
        self.theme = next_theme(self.theme)
        self.say(f"look: {self.theme}")

    async def action_quit(self) -> None:
        """Keep everything, then leave."""
        await self.put_away()
        self.exit()

    async def put_away(self) -> None:
        """Finish every edit, then write what was typed; whatever comes in after that changes nothing any more."""
        self._leaving = True
        await asyncio.to_thread(self.clerk.close)
        if self.drafts is not None:
            await asyncio.to_thread(self._keep, self.drafts)

    @on(Changed)
    def _take(self, event: Changed) -> None:
        self.state = event.state
        if event.label == "open":
            self.switch_mode("found")
        else:
            self.say(event.label)
        self._refresh_room()

    @on(Refused)
    def _tell(self, event: Refused) -> None:
        self.state = event.state
        self._refresh_room()
        self.say(f"{event.label}: refused", *event.lines[:3], bad=True)

    @on(Contested)
    def _settle(self, event: Contested) -> None:
        """Ask whose text it shall be; either way the other one stays beside."""
        self.state = event.state
        self._refresh_room()
        ours = ours_beside(event.state.path).name
        lines = [
            f"{event.state.path} was changed by somebody else since it was read.",
            f"y: take theirs; what is here stays in {ours}",
            "n: keep what is here; theirs stays as the newest backup",
            "Esc: decide at the next edit; what is here is not saved until then",
        ]

        def settled(theirs: bool | None) -> None:
            if theirs is not None:
                words = "theirs was taken" if theirs else "ours was kept"
                self._change(words, Desk.take_theirs if theirs else Desk.keep_ours)

        self.push_screen(AskDialog("Whose text?", lines), settled)

    def _refresh_room(self) -> None:
        for screen in self.screen_stack:
            if isinstance(screen, Room) and screen.is_mounted:
                screen.refresh_job()

    def _change(self, label: str, work: Callable[[Desk], DeskState]) -> None:
        if self.desk is None:
            self.say("no job is open", bad=True)
            return
        if self._leaving:
            return
        self.clerk.change(label, self.desk, partial(work, self.desk))

    def _write_drafts(self) -> None:
        self._drafts_due = False
        if self.drafts is not None and not self._leaving:
            self.clerk.do(partial(self._keep, self.drafts))

    def _keep(self, drafts: Drafts) -> None:
        """Write what was typed; to be called from a thread."""
        try:
            drafts.write()
        except OSError as error:
            lines = (f"{drafts.path}: {error.strerror or error}; what is typed and not yet in the job is not kept",)
            self.post_message(Refused("keep what was typed", lines, self.state))
