"""A step of the conversion with its inverse, and what proves afterwards that the organ is as it was found."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from retrofit.survey.operations import OperationKind

NOT_TAKEN = "reading not taken: unknown"


@dataclass(frozen=True, slots=True)
class Proof:
    """The reading that proves as-found, in words; `known` is False where it, or a half of it, was never taken.

    `states` is how many readings are taken to compare: none where no circuit of the organ was touched.  `typical` says
    that it was read on another line, which stands for this one.
    """

    words: str
    known: bool
    states: int
    typical: bool = False


NOTHING_TO_READ = Proof("nothing to read: no circuit of the organ was touched", known=True, states=0)


@dataclass(frozen=True, slots=True)
class Undo:
    """How a step is undone, in words; with which tool, and what must be seen afterwards."""

    words: str
    tool: str
    seen: str


@dataclass(frozen=True, slots=True)
class Operation:
    """One step of the conversion.

    `subject` is a group, point or division id, or the console; `what` names the one thing in words.  `done` says what
    is done and `undo` how it is undone, None where it cannot be.  `divisions` are those that do not play MIDI without
    it.  `originals` are the things of the organ that it touches; `preserved` tells that they must stay as they were.
    `minutes` is the time that undoing takes, None where nobody has said.  `written` is the date and the initials of a
    step that was written down by hand.
    """

    id: str
    kind: OperationKind
    subject: str
    what: str
    done: str
    why: str
    tool: str
    undo: Undo | None
    proof: Proof
    divisions: tuple[str, ...]
    preserved: bool
    minutes: float | None
    strip: str = ""
    tag: str = ""
    originals: tuple[str, ...] = ()
    remark: str = ""
    written: tuple[date, str] | None = None
