"""The loop of a run: what a source hears and a person says goes in, what the run says goes out, and all of it is kept.

It knows no port, file or screen: a live console, a recording and a console in software are run by the same loop.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from retrofit.proving.runs.clock import Clock
from retrofit.proving.runs.entries import Entry, EntryKind
from retrofit.proving.runs.limits import SECOND_US
from retrofit.proving.runs.run import ProvingRun
from retrofit.proving.runs.says import Say
from retrofit.proving.runs.steps import Step
from retrofit.proving.sources import Source

RESUME_GAP_US = SECOND_US
"""So long after its last entry a resumed run goes on."""
LAG_US = 100_000
"""Time is let pass this much behind the clock, so that a message under way still comes in its own time."""
TICK_US = 20_000
"""Time is let pass in steps of at most so much, so that a recording read at once goes as the live run did."""


class Person(Protocol):
    """Whoever proves the console."""

    def say(self, say: Say) -> None:
        """Hear what the run says."""

    def words(self) -> Sequence[str]:
        """Return what was said since the last call, without waiting."""


class Keeper(Protocol):
    """Where entries are kept."""

    def keep(self, entry: Entry) -> None:
        """Keep one entry."""

    def save(self) -> None:
        """Called again and again: see to it that what is kept is safe."""


class _NoKeeper:
    """Keeps nothing."""

    def keep(self, entry: Entry) -> None:
        """Do nothing."""

    def save(self) -> None:
        """Do nothing."""


class Runner:
    """Runs one proving run from a source that is open."""

    def __init__(
        self, run: ProvingRun, source: Source, clock: Clock, person: Person, keeper: Keeper | None = None
    ) -> None:
        self._run = run
        self._source = source
        self._clock = clock
        self._person = person
        self._keeper = keeper or _NoKeeper()
        self._begun_us = 0
        self._away = False
        self._last_step: Step | None = None

    def go(self, ready: bool = False) -> None:
        """Run until the run is over or the source has ended; `ready` answers every condition with yes.

        A run that has entries already is gone on with.
        """
        resumed = self._run.now_us > 0
        self._begun_us = self._clock.now_us() - (self._run.now_us + RESUME_GAP_US if resumed else 0)
        self._take(EntryKind.GAP if resumed else EntryKind.BEGIN)
        while ready and self._run.condition is not None:
            self._take(EntryKind.WORDS, b"yes")
        while not self._run.over and self._listen():
            self._clock.wait()
        self._keeper.save()

    def _listen(self) -> bool:
        """Take what has come; return False when nothing more ever will."""
        self._watch_device()
        messages = self._source.poll()
        for time_us, message in messages:
            self._clock.heard(time_us)
            self._pass_time(time_us - self._begun_us)
            self._take(EntryKind.MIDI, message, time_us - self._begun_us)
        for words in self._person.words():
            self._take(EntryKind.WORDS, words.encode())
        if not self._away:
            self._pass_time(self._lagging_us())
        self._keeper.save()
        return bool(messages) or not self._source.ended or self._may_end_step()

    def _may_end_step(self) -> bool:
        """When the source has ended, the step that is under way may end by time; what follows would ask nobody."""
        self._last_step = self._last_step or self._run.step
        return self._run.wakes and self._run.step is self._last_step

    def _lagging_us(self) -> int:
        return self._clock.now_us() - self._begun_us - LAG_US

    def _pass_time(self, until_us: int) -> None:
        while until_us > self._run.now_us and not self._run.over:
            self._take(EntryKind.TICK, b"", min(until_us, self._run.now_us + TICK_US))

    def _watch_device(self) -> None:
        """A device that is away stops the waiting; when it is back, the waiting begins anew."""
        away = self._source.away
        if away and not self._away:
            self._person.say(Say(f"{self._source.words} is away; waiting for it"))
        if self._away and not away:
            self._person.say(Say(f"{self._source.words} is back"))
            self._take(EntryKind.GAP)
        self._away = away

    def _take(self, kind: EntryKind, data: bytes = b"", time_us: int | None = None) -> None:
        at_us = self._lagging_us() if time_us is None else time_us
        entry = Entry(kind, max(self._run.now_us, at_us), data)
        says = self._run.take(entry)
        if self._run.moved:
            self._keeper.keep(entry)
        for say in says:
            self._person.say(say)
