"""The clerk: does everything that takes time with the job file, in one thread, one thing after the other."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

from textual.message import Message

from retrofit.survey.atomic_write import ChangedOnDiskError, SaveError
from retrofit.survey.problems import JobFileError
from tui.desk.desk import Desk
from tui.desk.state import DeskState

WorkT = TypeVar("WorkT")


@dataclass
class Changed(Message):
    """The job is another now; `label` says by what."""

    label: str
    state: DeskState


@dataclass
class Contested(Message):
    """Somebody else has changed the file since it was read; the edit stands here, and is not on disk."""

    state: DeskState


@dataclass
class Refused(Message):
    """An edit was refused, or could not be written; `state` is how the job stands."""

    label: str
    lines: tuple[str, ...]
    state: DeskState | None


class Clerk:
    """Hands work to the thread, and what came of it to the screens as messages."""

    def __init__(self, post: Callable[[Message], object]) -> None:
        self._post = post
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="clerk")

    def change(self, label: str, desk: Desk, work: Callable[[], DeskState]) -> None:
        """Change the job in the thread; `Changed` or `Refused` says how that went."""
        self._thread.submit(self._change, label, desk, work)

    def do(self, work: Callable[[], WorkT]) -> Future[WorkT]:
        """Do anything else in its turn."""
        return self._thread.submit(work)

    def close(self) -> None:
        """Finish everything that was handed over."""
        self._thread.shutdown(wait=True)

    def _change(self, label: str, desk: Desk, work: Callable[[], DeskState]) -> None:
        try:
            self._post(Changed(label, work()))
        except JobFileError as error:
            self._post(Refused(label, tuple(map(str, error.problems)), desk.state))
        except ChangedOnDiskError:
            self._post(Contested(desk.state))
        except SaveError as error:
            self._post(Refused(label, (str(error),), desk.state))
        except Exception as error:  # noqa: BLE001  # a thread's error is told, never swallowed
            self._post(Refused(label, fault_lines(error), desk.state))


def fault_lines(error: Exception) -> tuple[str, ...]:
    """Return what is said of an error that nobody expected."""
    words = f"{type(error).__name__}: {error}"
    return (f"a fault of this program, not of your file: {words}", "the job is as it was; please report this line")
