"""Asking a board: one question at a time, asked again when no answer comes, and never for longer than is allowed.

A question that is asked again because no answer came keeps its sequence number: the board answers it again without
doing it again.  A board that says that it is busy is asked afresh a little later, under a new number, and not for ever.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from retrofit.firmware.link.errors import (
    LinkError,
    RefusedError,
    SilenceError,
    TimeUpError,
    VersionError,
)
from retrofit.firmware.link.frames import Body, FrameReader, frame_of
from retrofit.firmware.link.words import ANSWER, PROTOCOL, REFUSAL, REFUSALS, Kind, Reason

_NOT_OURS = "is this the port of a board with this program's sketch? retrofit board lists the ports"
_SILENT = "look at plug and lead; is it the right port, and does the board hold a sketch with its link?"
_OTHER_VERSION = "use the version of this program that wrote the board's sketch, or build and load the sketch again"


class Line(Protocol):
    """Bytes both ways.  Both raise `PortGoneError` when the other end has gone."""

    def give(self, content: bytes) -> None:
        """Send bytes."""

    def take(self) -> bytes:
        """Return the bytes that have come, none after a short wait."""


@dataclass(frozen=True, slots=True)
class Patience:
    """How long one answer is waited for, how often a question is asked, and what a whole command may take.

    A board that says that it is busy is asked again every `busy_look_s`, until it has been busy for `busy_s`: clearing
    its memory takes it a tenth of a second, writing its store one or two, and changes wait for the wire no longer.
    """

    answer_s: float = 0.5
    tries: int = 4
    greeting_s: float = 8.0
    command_s: float | None = 120.0
    busy_s: float = 5.0
    busy_look_s: float = 0.05


class Conversation:
    """Questions and answers over one line; `now` tells the seconds of a clock that never goes back."""

    def __init__(
        self, line: Line, now: Callable[[], float], patience: Patience | None = None, first_sequence: int = 0
    ) -> None:
        """Begin with the sequence number after `first_sequence`."""
        self._line = line
        self._now = now
        self._patience = patience or Patience()
        self._sequence = first_sequence
        self._reader = FrameReader()
        self._heard_bytes = 0
        self._end = None if self._patience.command_s is None else now() + self._patience.command_s

    def greet(self, kind: Kind, payload: bytes = b"") -> bytes:
        """Ask a first question until it is answered: a board that was reset by opening its port takes a while.

        Raises as `ask` does.
        """
        tries = max(1, round(self._patience.greeting_s / self._patience.answer_s))
        return self._asked(kind, payload, tries)

    def ask(self, kind: Kind, payload: bytes = b"") -> bytes:
        """Return the payload of the board's answer.

        Raises `SilenceError`, `VersionError`, `RefusedError`, `TimeUpError`, and what the line raises.
        """
        return self._asked(kind, payload, self._patience.tries)

    def _asked(self, kind: Kind, payload: bytes, tries: int) -> bytes:
        """Return the answer; as long as the board is busy, wait and ask afresh."""
        until = self._now() + self._patience.busy_s
        while True:
            try:
                return self._asked_once(kind, payload, tries)
            except RefusedError as refused:
                if refused.reason != Reason.BUSY or self._now() >= until:
                    raise
            self._pass_over(self._now() + self._patience.busy_look_s)

    def _pass_over(self, until: float) -> None:
        """Wait; whatever comes meanwhile answers nothing."""
        while self._now() < until:
            self._heard_bytes += len(self._line.take())

    def _asked_once(self, kind: Kind, payload: bytes, tries: int) -> bytes:
        self._sequence = (self._sequence + 1) % 256
        question = Body(kind, self._sequence, payload)
        for _ in range(tries):
            self._refuse_late(kind)
            self._line.give(b"\0" + frame_of(question))  # the zero ends whatever the board may have heard before
            answer = self._answer(question, self._now() + self._patience.answer_s)
            if answer is not None:
                return answer
        raise self._silence(kind, tries)

    def _answer(self, question: Body, until: float) -> bytes | None:
        """Return what answers `question`; whatever else arrives, other answers included, is passed over."""
        while self._now() < until:
            content = self._line.take()
            self._heard_bytes += len(content)
            for body in self._reader.take(content):
                if body.sequence == question.sequence and body.kind in (question.kind | ANSWER, REFUSAL):
                    return _judged(body, question)
        return None

    def _refuse_late(self, kind: Kind) -> None:
        if self._end is not None and self._now() >= self._end:
            raise TimeUpError(
                f"the board was not done after {self._patience.command_s:g} s (at: {kind.words})",
                "look at the lead, and start the command again",
            )

    def _silence(self, kind: Kind, tries: int) -> LinkError:
        asked = f"no answer to '{kind.words}', asked {tries} times"
        if self._heard_bytes == 0:
            return SilenceError(f"{asked}: nothing came at all", _SILENT)
        noise = self._reader.noise_bytes
        return SilenceError(f"{asked}: {self._heard_bytes} bytes came, {noise} of them part of no frame", _NOT_OURS)


def _judged(body: Body, question: Body) -> bytes:
    """Return the payload of an answer in our version; a refusal is raised."""
    if body.kind != REFUSAL and body.version == PROTOCOL:
        return body.payload
    if body.version != PROTOCOL:
        raise VersionError(
            f"the board speaks version {body.version} of the link, this program version {PROTOCOL}", _OTHER_VERSION
        )
    reason = body.payload[1] if len(body.payload) > 1 else 0
    found, remedy = REFUSALS.get(reason, (f"for a reason of number {reason}", _OTHER_VERSION))
    raise RefusedError(f"the board refuses '{Kind(question.kind).words}': {found}", remedy, reason)
