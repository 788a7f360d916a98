"""Listening in a thread: messages into the engine there, snapshots of it to the screen a few times a second."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass

from textual.message import Message

from retrofit.proving.engine import Engine
from retrofit.proving.expected import Expected
from retrofit.proving.ports.errors import PortError
from retrofit.proving.sources import Source
from retrofit.proving.tally import ContactTally

POLL_S = 0.005
SHOW_S = 0.04
"""The screen is told 25 times a second at most, however much comes in; nothing is left out of the counts."""


@dataclass(frozen=True, slots=True)
class Snapshot:
    """How the console stands: a letter for each contact by group, and counts."""

    letters: dict[str, str]
    messages: int
    strays: int
    lost: int
    source: str
    away: bool
    last: str


@dataclass
class Heard(Message):
    """The console stands so now."""

    snapshot: Snapshot


@dataclass
class Silent(Message):
    """Listening has ended; `why` is empty when it was ended here."""

    why: str


class Hearing:
    """Polls an open source until it is told to end."""

    def __init__(
        self, expected: Expected, source: AbstractContextManager[Source], post: Callable[[Message], object]
    ) -> None:
        self.engine = Engine(expected)
        self._source = source
        self._post = post
        self._over = threading.Event()
        self._last = ""
        self._thread = threading.Thread(target=self._run, daemon=True, name="hearing")

    @property
    def running(self) -> bool:
        """Whether it still listens."""
        return self._thread.is_alive()

    def begin(self) -> None:
        """Open the source and listen."""
        self._thread.start()

    def end(self) -> None:
        """Stop listening."""
        self._over.set()

    def _run(self) -> None:
        why = ""
        try:
            with self._source as source:
                self._listen(source)
        except PortError as error:
            why = str(error)
        except Exception as error:  # noqa: BLE001  # whatever ends a thread is told, never swallowed
            why = f"{type(error).__name__}: {error}"
        self._post(Silent(why))

    def _listen(self, source: Source) -> None:
        shown_s = 0.0
        while not self._over.is_set() and not source.ended:
            batch = source.poll()
            for change in self.engine.feed(batch):
                point = self.engine.expected.contacts[change.contact]
                self._last = f"{point.words} {'on' if change.on else 'off'}"
            if time.monotonic() - shown_s >= SHOW_S:
                shown_s = time.monotonic()
                self._post(Heard(snapshot(self.engine, source, self._last)))
            if not batch:
                time.sleep(POLL_S)
        self.engine.feed(source.poll())
        self._post(Heard(snapshot(self.engine, source, self._last)))


def snapshot(engine: Engine, source: Source, last: str) -> Snapshot:
    """Return how an engine stands."""
    letters: dict[str, str] = {}
    for index, (point, tally) in enumerate(zip(engine.expected.contacts, engine.contacts, strict=True)):
        held = index in engine.held
        letters[point.group] = letters.get(point.group, "") + letter(point.excuse, tally, held=held)
    return Snapshot(
        letters=letters,
        messages=engine.messages,
        strays=engine.stray_messages,
        lost=source.losses.dropped,
        source=source.words,
        away=source.away,
        last=last,
    )


LEGEND = ". not heard   # on now   + heard   ! odd   H held since power-on   - excused"


def letter(excuse: str | None, tally: ContactTally, *, held: bool) -> str:
    """Return the letter of a contact: what it does now counts before what it did."""
    if tally.is_on:
        return "#"
    if held:
        return "H"
    if tally.chattered or tally.repeated_ons or tally.repeated_offs:
        return "!"
    if tally.strokes:
        return "+"
    return "." if excuse is None else "-"
