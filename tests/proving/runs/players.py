"""A console of the small plan, its player and a person, made by hand: messages at times, and what was said."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cache
from types import TracebackType
from typing import Self

from retrofit.proving.expected import Expected, expected_of
from retrofit.proving.runs.clock import HeardClock
from retrofit.proving.runs.conditions import Condition
from retrofit.proving.runs.entries import Entry
from retrofit.proving.runs.limits import SECOND_US, Limits
from retrofit.proving.runs.run import ProvingRun
from retrofit.proving.runs.runner import Runner
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.steps import ChordTest, Step, StepKind, steps_of
from retrofit.proving.sources import Losses
from tests.proving.plans import small_plan

SHORT = Limits(soak_us=20 * SECOND_US)
"""The usual limits with a soak that a test can wait for."""
Timed = tuple[int, bytes]


@cache
def expected() -> Expected:
    """Return what the small console is expected to send."""
    return expected_of(small_plan())


def made_run(
    division: str,
    kinds: Iterable[StepKind] | None = None,
    conditions: Sequence[Condition] = (),
    chords: Sequence[ChordTest] = (),
    limits: Limits = SHORT,
) -> ProvingRun:
    """Return a run over a division, of some kinds of steps or of all."""
    steps: Sequence[Step] = steps_of(expected(), division, {division: chords} if chords else None)
    wanted = set(StepKind if kinds is None else kinds)
    return ProvingRun(expected(), [step for step in steps if step.kind in wanted], conditions, limits)


def on(note: int, channel: int = 2) -> bytes:
    """Return a note-on of the great."""
    return bytes((0x90 | channel - 1, note, 64))


def off(note: int, channel: int = 2) -> bytes:
    """Return a note-off of the great."""
    return bytes((0x80 | channel - 1, note, 64))


def press(at_us: int, *notes: int, held_us: int = 200_000, channel: int = 2) -> list[Timed]:
    """Return the messages of notes that are pressed together."""
    return [*((at_us, on(n, channel)) for n in notes), *((at_us + held_us, off(n, channel)) for n in notes)]


def keys(*left_out: int) -> list[int]:
    """Return the notes of the great that are not excused, without some."""
    great = (p for p in expected().contacts if p.group == "great" and p.excuse is None)
    return [p.note for p in great if p.note is not None and p.note not in left_out]


def slow(notes: Iterable[int], begin_us: int = 0) -> list[Timed]:
    """Return a run of a key a second."""
    return [timed for place, note in enumerate(notes) for timed in press(begin_us + place * SECOND_US, note)]


class Console:
    """A source that plays prepared messages, and answers what the run asks for by `respond`.

    `respond` takes the words of the run and gives messages with times after the asking.  Messages come `late_us` after
    the times that they bear, as they do through a port.
    """

    def __init__(
        self,
        clock: HeardClock,
        messages: Iterable[Timed] = (),
        respond: Callable[[Say], Sequence[Timed]] | None = None,
        ends: bool = False,
        late_us: int = 0,
    ) -> None:
        self._clock = clock
        self._ahead = sorted(messages, key=lambda timed: timed[0])
        self._respond = respond
        self._ends = ends
        self._late_us = late_us
        self.away_between: tuple[int, int] | None = None

    words = "a console made by hand"
    losses = Losses()

    @property
    def ended(self) -> bool:
        """Whether all was played and nothing more is ever answered."""
        return self._ends and not self._ahead and self._respond is None

    @property
    def away(self) -> bool:
        """Whether it is away just now."""
        return self.away_between is not None and self.away_between[0] <= self._clock.now_us() < self.away_between[1]

    def poll(self) -> list[Timed]:
        """Return what is due."""
        now_us = self._clock.now_us()
        due = [timed for timed in self._ahead if timed[0] + self._late_us <= now_us]
        self._ahead = self._ahead[len(due) :]
        return due

    def asked(self, say: Say) -> None:
        """Play what answers this."""
        if self._respond is not None:
            begin_us = self._clock.now_us() + SECOND_US
            answer = ((begin_us + at_us, message) for at_us, message in self._respond(say))
            self._ahead = sorted([*self._ahead, *answer], key=lambda timed: timed[0])

    def __enter__(self) -> Self:
        """Open it."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close it."""


class Listener:
    """A person who remembers what was said, and says prepared words when certain words are heard."""

    def __init__(self, console: Console | None = None, answers: dict[str, str] | None = None) -> None:
        self.heard: list[Say] = []
        self._console = console
        self._answers = answers or {}
        self._ahead: list[str] = []

    @property
    def text(self) -> str:
        """All that was said."""
        return "\n".join(say.words for say in self.heard)

    def sounds(self) -> list[Sound]:
        """Return the sounds in order."""
        return [say.sound for say in self.heard if say.sound is not None]

    def say(self, say: Say) -> None:
        """Remember it, let the console answer, and answer."""
        self.heard.append(say)
        if self._console is not None:
            self._console.asked(say)
        self._ahead += [word for begin, word in self._answers.items() if begin in say.words]

    def words(self) -> list[str]:
        """Return the answers since the last call."""
        said, self._ahead = self._ahead, []
        return said


class Kept:
    """A keeper that keeps in memory."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []

    def keep(self, entry: Entry) -> None:
        """Keep an entry."""
        self.entries.append(entry)

    def save(self) -> None:
        """It is safe already."""


def _silence(say: Say) -> Sequence[Timed]:  # noqa: ARG001  # whatever is said
    return ()


def played(
    run: ProvingRun,
    messages: Iterable[Timed] = (),
    respond: Callable[[Say], Sequence[Timed]] | None = None,
    answers: dict[str, str] | None = None,
    kept: Kept | None = None,
) -> Listener:
    """Play a whole run until it is over, answering with silence unless said otherwise; return what was said."""
    clock = HeardClock()
    console = Console(clock, messages, respond or _silence)
    listener = Listener(console, answers)
    Runner(run, console, clock, listener, kept).go()
    return listener
