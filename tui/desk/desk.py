"""The desk: one job file that is open, edited and kept.

Every call does its whole work before it returns, up to some tenths of a second for a large console, so the screens
call it from one thread of its own, one call at a time.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.atomic_write import write_atomically
from retrofit.survey.job import Job
from retrofit.survey.load import parse_job
from retrofit.survey.problems import JobFileError, Problem
from retrofit.survey.save import Edit, edited_text
from retrofit.survey.user_text import decode_user_text, read_user_bytes
from tui.desk.history import History
from tui.desk.state import DeskState

BACKUP_EVERY_S = 600.0
"""Each edit is saved at once; a backup of the file before is kept of the first, and of the first after ten minutes."""

OURS = ".ours"

TextEdit = Callable[[str, str], str]
"""Makes a new text of a job file from its text and its name; raises `JobFileError` or `SaveError`."""


class Desk:
    """A job file under work.

    An edit is first made on the text in memory, judged, and only then written; a refused one leaves everything as it
    was.  `JobFileError` says why an edit is refused, `SaveError` why the file could not be written: then the edit
    stands in memory, `state.on_disk` is False, and the next edit or `save` tries again.
    """

    def __init__(self, path: Path, clock: Callable[[], float] = time.monotonic) -> None:
        """Read the file.  Raises `JobFileError` when it cannot be read as text; a wrong job is opened all the same."""
        self.path = path
        self._clock = clock
        self._last_backup_s: float | None = None
        self._load()

    def _load(self) -> None:
        self._held = read_user_bytes(self.path)
        self._history = History(decode_user_text(self._held, str(self.path)))
        self._judge()

    @property
    def state(self) -> DeskState:
        """The job as it stands."""
        return DeskState(
            path=self.path,
            text=self._history.text,
            job=self._job,
            problems=self._problems,
            plan=self._plan,
            undoes=self._history.undoes,
            redoes=self._history.redoes,
            on_disk=self._history.text.encode("utf-8") == self._held,
        )

    def edit(self, label: str, edit: Edit) -> DeskState:
        """Apply an edit of the document, as `retrofit.survey.save` makes them, and keep it."""
        return self.edit_text(label, lambda text, name: edited_text(text, name, edit))

    def edit_text(self, label: str, edit: TextEdit) -> DeskState:
        """Apply an edit of the whole text and keep it; the new text must be a sound job."""
        text = edit(self._history.text, str(self.path))
        parse_job(text, str(self.path))
        self._history.edited(label, text)
        return self._kept()

    def trial(self, edit: Edit) -> tuple[Problem, ...]:
        """Return what would be wrong with an edit; nothing is changed."""
        try:
            edited_text(self._history.text, str(self.path), edit)
        except JobFileError as error:
            return error.problems
        return ()

    def trial_text(self, text: str) -> tuple[Problem, ...]:
        """Return what would be wrong with a whole text; nothing is changed."""
        try:
            parse_job(text, str(self.path))
        except JobFileError as error:
            return error.problems
        return ()

    def undo(self) -> DeskState:
        """Take the last edit back, and keep that."""
        return self._kept() if self._history.undo() is not None else self.state

    def redo(self) -> DeskState:
        """Make the edit that was taken back last again, and keep that."""
        return self._kept() if self._history.redo() is not None else self.state

    def save(self) -> DeskState:
        """Write what could not be written before."""
        self._write()
        return self.state

    def take_theirs(self) -> DeskState:
        """Read the file again, as somebody else has left it; what was here stays in a file beside it.

        Edits since the file was opened can then not be undone.
        """
        ours = ours_beside(self.path)
        write_atomically(ours, self._history.text, ours.read_bytes() if ours.exists() else None)
        self._load()
        return self.state

    def keep_ours(self) -> DeskState:
        """Write what is here over what somebody else has left, which stays as the newest backup."""
        theirs = read_user_bytes(self.path) if self.path.exists() else None
        write_atomically(self.path, self._history.text, theirs)
        self._held = self._history.text.encode("utf-8")
        return self.state

    def _kept(self) -> DeskState:
        self._judge()
        self._write()
        return self.state

    def _judge(self) -> None:
        self._job: Job | None = None
        self._plan: ConversionPlan | None = None
        self._problems: tuple[Problem, ...] = ()
        try:
            self._job = parse_job(self._history.text, str(self.path))
        except JobFileError as error:
            self._problems = error.problems
        else:
            self._plan = plan_conversion(self._job, load_catalogue())

    def _write(self) -> None:
        content = self._history.text.encode("utf-8")
        if content == self._held:
            return
        now = self._clock()
        backup_due = self._last_backup_s is None or now - self._last_backup_s >= BACKUP_EVERY_S
        write_atomically(self.path, self._history.text, self._held, backup=backup_due)
        self._held = content
        if backup_due:
            self._last_backup_s = now


def ours_beside(path: Path) -> Path:
    """Return where the text of this program stays when somebody else's is taken."""
    return path.with_name(path.name + OURS)
