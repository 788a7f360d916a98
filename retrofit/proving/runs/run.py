"""One proving run: entries in, words and sounds out.  It is pure: the same entries always make the same run."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence

from retrofit.proving.engine import Engine
from retrofit.proving.evidence import stray_words
from retrofit.proving.expected import Expected
from retrofit.proving.runs.chords import ChordStage
from retrofit.proving.runs.conditions import QUESTIONS, Condition
from retrofit.proving.runs.entries import Entry, EntryKind
from retrofit.proving.runs.idle import IdleStage, SoakStage
from retrofit.proving.runs.limits import Limits
from retrofit.proving.runs.notebook import Notebook
from retrofit.proving.runs.presses import AskedStage, CauseStage, FastStage, RunStage
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.shoe_stage import ShoeStage
from retrofit.proving.runs.shoe_values import ShoeValues
from retrofit.proving.runs.stage import Moved, Stage, Switched
from retrofit.proving.runs.steps import Step, StepKind
from retrofit.proving.runs.stops import AllStopsStage, CombinationStage, StopsStage
from retrofit.proving.runs.words import Word, not_understood, understood

STAGES: dict[StepKind, type[Stage]] = {
    StepKind.IDLE: IdleStage,
    StepKind.RUN: RunStage,
    StepKind.ASKED: AskedStage,
    StepKind.FAST: FastStage,
    StepKind.CHORDS: ChordStage,
    StepKind.STOPS: StopsStage,
    StepKind.ALL_STOPS: AllStopsStage,
    StepKind.COMBINATION: CombinationStage,
    StepKind.SHOES: ShoeStage,
    StepKind.PISTONS: RunStage,
    StepKind.SOAK: SoakStage,
    StepKind.CAUSE: CauseStage,
}
"""How each kind of step goes."""
STRAYS_TOLD = 128
"""So many different messages of no point are told one by one, more than a manual sends; all are counted."""
ROUNDS_MOST = 6
"""So often at most further steps are taken up after the course."""
Further = Callable[[Notebook], Sequence[Step]]
"""Gives the steps that would help to explain what was heard; none when all is clear, or nothing would help."""


class ProvingRun:
    """The state of one run.

    `skipped` are steps that were left and come back at the end, `left_out` those that were left twice.  `finished`
    tells that the course is at its end; steps that `further` gives after that may explain what was heard, and nothing
    is undone without them.  `moved` tells whether the last entry changed anything; a tick that did not need not be
    kept.
    """

    def __init__(
        self,
        expected: Expected,
        steps: Sequence[Step],
        conditions: Sequence[Condition],
        limits: Limits | None = None,
        further: Further | None = None,
    ) -> None:
        self.expected = expected
        self.limits = limits or Limits()
        self.engine = Engine(expected)
        self.notebook = Notebook(expected)
        self.steps = tuple(steps)
        self.answered: list[Condition] = []
        self.skipped: list[Step] = []
        self.left_out: list[Step] = []
        self.finished = False
        self.stopped = False
        self.moved = False
        self.now_us = 0
        self._conditions = deque(conditions)
        self._ahead = deque(steps)
        self._came_back = False
        self._further = further
        self._rounds = 0
        self._stage: Stage | None = None
        self._shoes = ShoeValues(expected)
        self._told: set[str] = set()

    @property
    def step(self) -> Step | None:
        """The step that is under way."""
        return None if self._stage is None else self._stage.step

    @property
    def condition(self) -> Condition | None:
        """The condition that waits for an answer."""
        return self._conditions[0] if self._conditions else None

    @property
    def over(self) -> bool:
        """Whether nothing more is taken: the run was stopped, or nothing is left to do."""
        return self.stopped or (self.finished and self._stage is None)

    @property
    def wakes(self) -> bool:
        """Whether the run goes on by time alone, with nothing heard and nothing said."""
        return not self.over and self._stage is not None and self._stage.wake_us is not None

    @property
    def unfinished(self) -> tuple[Step, ...]:
        """The steps that have not ended: the one under way, those ahead and those that were left."""
        under_way = () if self._stage is None else (self._stage.step,)
        return (*under_way, *self._ahead, *self.skipped)

    def take(self, entry: Entry) -> list[Say]:
        """Take one entry, no older than the one before; return what there is to say."""
        self.moved = entry.kind is not EntryKind.TICK
        if self.over:
            return []
        self.now_us = max(self.now_us, entry.time_us)
        return [*self._passed_time(entry.kind is not EntryKind.GAP), *self._taken(entry)]

    def _taken(self, entry: Entry) -> Iterator[Say]:
        match entry.kind:
            case EntryKind.BEGIN:
                yield from self._question() if self._conditions else self._next()
            case EntryKind.MIDI:
                yield from self._heard(entry.data)
            case EntryKind.WORDS:
                yield from self._said(entry.data.decode("utf-8", "replace"))
            case EntryKind.GAP if self._stage is not None:
                yield from self._driven(self._stage.restarted(self.now_us))

    def _passed_time(self, may_wake: bool) -> Iterator[Say]:
        """Hand on presses that are finished by now, and wake a step whose time has come; a gap wakes none."""
        for stroke in self.engine.strokes(self.now_us):
            self.moved = True
            if self._stage is not None:
                yield from self._driven(self._stage.pressed(stroke, self.now_us))
        stage = self._stage
        if may_wake and stage is not None and stage.wake_us is not None and stage.wake_us <= self.now_us:
            self.moved = True
            yield from self._driven(stage.woken(self.now_us))

    def _heard(self, message: bytes) -> Iterator[Say]:
        before = self.engine.stray_messages
        changes = self.engine.feed([(self.now_us, message)])
        if self.engine.held or self.notebook.held:
            self.notebook.hold(frozenset(self.expected.contacts[index].id for index in self.engine.held))
        stage = self._stage
        if stage is None:
            return
        for change in changes:
            point = self.expected.contacts[change.contact]
            yield from self._driven(stage.switched(Switched(change.time_us, point, change.on)))
        value = self._shoes.take(message)
        if value is not None:
            yield from self._driven(stage.moved(Moved(self.now_us, *value)))
        if self.engine.stray_messages > before:
            yield from self._stray(message)

    def _stray(self, message: bytes) -> Iterator[Say]:
        words = stray_words(message)
        if words not in self._told and len(self._told) < STRAYS_TOLD:
            self._told.add(words)
            yield Say(f"{self.notebook.words(words)} was heard", Sound.FAIL)

    def _driven(self, says: Iterable[Say]) -> Iterator[Say]:
        """Say what a step says, and go on to the next one when it has ended."""
        stage = self._stage
        yield from says
        if stage is self._stage and stage is not None and stage.done:
            yield from self._ended(stage)

    def _ended(self, stage: Stage) -> Iterator[Say]:
        if stage.is_left and not self.finished:
            (self.left_out if self._came_back else self.skipped).append(stage.step)
        yield from self._next()

    def _next(self) -> Iterator[Say]:
        """Begin the next step; a step may be over as soon as it began, and as many follow as there are."""
        while True:
            if not self._ahead and self.skipped and not self._came_back:
                self._came_back = True
                yield Say(f"back to what was left: {', '.join(step.title for step in self.skipped)}")
                self._ahead, self.skipped = deque(self.skipped), []
            if not self._ahead:
                self.finished = True
                yield from self._follow()
            if not self._ahead:
                self._stage = None
                yield Say("the run is finished")
                return
            self._stage = stage = self._made(self._ahead.popleft())
            yield from stage.begin(self.now_us, self._on())
            if not stage.done:
                return
            if stage.is_left and not self.finished:
                self.left_out.append(stage.step)

    def _follow(self) -> Iterator[Say]:
        """Take up the steps that would help to explain what was heard."""
        if self._further is None or self._rounds == ROUNDS_MOST:
            return
        self._ahead.extend(self._further(self.notebook))
        if self._ahead and not self._rounds:
            yield Say("a little more is asked for, to find the cause of what was heard")
        self._rounds += 1

    def _made(self, step: Step) -> Stage:
        return STAGES[step.kind](step, self.notebook, self.limits)

    def _on(self) -> frozenset[str]:
        return frozenset(self.expected.contacts[index].id for index in self.engine.on_now())

    def _question(self) -> Iterator[Say]:
        condition = self.condition
        if condition is None:
            yield from self._next()
        else:
            yield Say(f"{QUESTIONS[condition].words} (yes/no)")

    def _said(self, text: str) -> Iterator[Say]:
        word = understood(text)
        if word is None:
            yield Say(not_understood(text))
        elif word is Word.QUIT:
            self.stopped = True
            yield Say("stopped; the run can be resumed")
        elif self.condition is not None:
            yield from self._answer(self.condition, word)
        elif self._stage is not None:
            yield from self._do(word, self._stage)

    def _answer(self, condition: Condition, word: Word) -> Iterator[Say]:
        if word is Word.YES:
            self.answered.append(self._conditions.popleft())
        elif word is Word.NO:
            yield Say(QUESTIONS[condition].remedy)
        yield from self._question()

    def _do(self, word: Word, stage: Stage) -> Iterator[Say]:
        match word:
            case Word.SKIP:
                stage.is_left = True
                yield Say(f"{stage.step.title}: left for later")
                yield from self._ended(stage)
            case Word.COME_BACK if self.skipped:
                self._ahead.appendleft(stage.step)
                self._ahead.appendleft(self.skipped.pop(0))
                yield from self._next()
            case Word.AGAIN:
                self.notebook.forget(stage.step)
                self._ahead.appendleft(stage.step)
                yield from self._next()
            case Word.DONE:
                yield from self._driven(stage.finish(self.now_us))
            case _:
                yield Say("no step was left" if word is Word.COME_BACK else "nothing was asked")
