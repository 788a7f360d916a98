"""Long work: it runs beside the screen, shows how far it has come, and can be cancelled."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar, Generic, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.message import Message
from textual.widgets import ProgressBar, Static

from tui.dialogs.dialog import Dialog
from tui.widgets.words import plain_lines

WorkT = TypeVar("WorkT")


class Cancelled(Exception):  # noqa: N818  # it is how the work ends when the user wants it to, no error
    """The user has cancelled the work."""


@dataclass(frozen=True)
class Done(Generic[WorkT]):
    """How the work ended: with a value, or with the error that stopped it."""

    value: WorkT | None = None
    error: Exception | None = None


class Progress:
    """What work tells of itself; to be called from its thread."""

    def __init__(self, post: Callable[[Message], object]) -> None:
        self._post = post
        self.cancelled = threading.Event()

    def tell(self, words: str, done: float | None = None) -> None:
        """Say what is being done, and which share from 0 to 1 is done if that is known.

        Raises `Cancelled` when the user wants the work to end: leave everything as it was, or whole.
        """
        if self.cancelled.is_set():
            raise Cancelled
        self._post(WorkDialog.Told(words, done))


class WorkDialog(Dialog[Done[WorkT]], Generic[WorkT]):
    """Runs `work` in a thread and closes with how it ended, or with None when it was cancelled."""

    DEFAULT_CSS = "WorkDialog ProgressBar { width: 100%; } WorkDialog Bar { width: 1fr; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "cancel", "Cancel", id="cancel-work", tooltip="End the work before it is done"),
    ]

    @dataclass
    class Told(Message):
        """The work says how far it has come."""

        words: str
        done: float | None

    @dataclass
    class _Ended(Message):
        done: Done[object] | None

    def __init__(self, title: str, work: Callable[[Progress], WorkT]) -> None:
        super().__init__()
        self.words, self.work = title, work
        self.progress = Progress(self.post_message)

    def compose(self) -> ComposeResult:
        """Show what is done and how far it has come."""
        with Vertical(id="box") as box:
            box.border_title = plain_lines([self.words])
            box.border_subtitle = "Esc: cancel"
            yield Static(id="told", markup=False)
            yield ProgressBar(total=None, show_eta=False)

    def on_mount(self) -> None:
        """Begin."""
        threading.Thread(target=self._run, daemon=True, name=f"work: {self.words}").start()

    def _run(self) -> None:
        try:
            ended: Done[object] | None = Done(value=self.work(self.progress))
        except Cancelled:
            ended = None
        except Exception as error:  # noqa: BLE001  # it is handed on, to be shown by whoever wanted the work
            ended = Done(error=error)
        self.post_message(self._Ended(ended))

    @on(Told)
    def _tell(self, event: Told) -> None:
        self.query_one("#told", Static).update(plain_lines([event.words]))
        if event.done is not None:
            self.query_one(ProgressBar).update(total=100, progress=100 * event.done)

    @on(_Ended)
    def _end(self, event: _Ended) -> None:
        self.dismiss(event.done)  # type: ignore[arg-type]  # the value is that of this dialog's own work

    def action_cancel(self) -> None:
        """Ask the work to end; the dialog closes when it has."""
        self.progress.cancelled.set()
        self.query_one("#told", Static).update("Cancelling …")
