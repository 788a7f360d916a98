"""One lesson: presses in, words out, until every key has its place, is silent, or needs a hand at the wiring.

It is pure: a live console, a recording and a console in software teach it alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum, auto

from retrofit.proving.evidence import Stroke
from retrofit.proving.learning.order import agreed_order, order_heard
from retrofit.proving.learning.solve import Learned, learned
from retrofit.proving.learning.votes import AskedPress
from retrofit.proving.runs.limits import Limits
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.words import Word, not_understood, understood

RUNS_MOST = 3
"""So often a run is played; when single presses deny that one too, every key is asked for by name."""


@dataclass(frozen=True, slots=True)
class LessonKey:
    """A key of the group: its point, what the user calls it, and its note if it has one.

    `silence` says why it may well be silent, as in "known as dead"; it is empty where a sound is expected.
    """

    point: str
    words: str
    note: int | None = None
    silence: str = ""


class _Phase(Enum):
    UP = auto()
    DOWN = auto()
    ASK = auto()
    OVER = auto()


class Lesson:
    """A lesson over keys in their order; `both_ways` wants the run played back down as well, as a proof."""

    def __init__(self, keys: Sequence[LessonKey], both_ways: bool = False, limits: Limits | None = None) -> None:
        self.keys = tuple(keys)
        self.limits = limits or Limits()
        self.asked: list[AskedPress] = []
        self.stopped = False
        self._both_ways = both_ways
        self._by_point = {key.point: key for key in keys}
        self._up: list[Stroke] = []
        self._down: list[Stroke] = []
        self._phase = _Phase.UP
        self._since_us = 0
        self._quiet_since_us = 0
        self._question = ""
        self._runs = 0

    @property
    def over(self) -> bool:
        """Whether nothing more is taken."""
        return self._phase is _Phase.OVER

    @property
    def asking(self) -> bool:
        """Whether a single press is waited for."""
        return self._phase is _Phase.ASK

    @property
    def result(self) -> Learned:
        """What is known so far."""
        order = order_heard(self._up)
        if self._down:
            order = agreed_order(order, order_heard(self._down))
        dead = frozenset(key.point for key in self.keys if key.silence)
        return learned([key.point for key in self.keys], order, self.asked, dead)

    def begin(self, now_us: int) -> list[Say]:
        """Ask for the run."""
        return list(self._ask_run(now_us, _Phase.UP))

    def take(self, strokes: Iterable[Stroke], now_us: int) -> list[Say]:
        """Take presses that are finished by now, and what follows from time that passed."""
        says: list[Say] = []
        for stroke in strokes:
            if stroke.heard and stroke.heard[0].on_us >= self._since_us:
                self._quiet_since_us = now_us
                says += self._pressed(stroke, now_us)
        if not self.over and now_us - self._quiet_since_us >= self._patience_us:
            says += self._waited(now_us)
        return says

    def said(self, text: str, now_us: int) -> list[Say]:
        """Take words of the person: `done` ends a run, `again` begins it anew, `quit` ends the lesson."""
        match understood(text):
            case None:
                return [Say(not_understood(text))]
            case Word.QUIT:
                self.stopped = True
                self._phase = _Phase.OVER
                return [Say("stopped; nothing was changed")]
            case Word.AGAIN:
                return list(self._ask_run(now_us, _Phase.UP))
            case Word.DONE if self._phase in (_Phase.UP, _Phase.DOWN):
                return list(self._run_ended(now_us))
            case _:
                return [Say("nothing was asked that this would answer")]

    @property
    def _patience_us(self) -> int:
        if self._phase is _Phase.ASK:
            return self.limits.ask_us
        return self.limits.pause_us if self._run_of_phase() else self.limits.remind_us

    def _run_of_phase(self) -> list[Stroke]:
        return self._down if self._phase is _Phase.DOWN else self._up

    def _ask_run(self, now_us: int, phase: _Phase) -> Iterator[Say]:
        self._phase = phase
        self._since_us = self._quiet_since_us = now_us
        self._run_of_phase().clear()
        first, last = self.keys[0], self.keys[-1]
        if phase is _Phase.DOWN:
            yield Say(f"now back down, from {last.words} to {first.words}", Sound.ASK, last.note)
            return
        self._down.clear()
        self._runs += 1
        yield Say(
            f"press each of {len(self.keys)} alone and slowly, from {first.words} to {last.words}; a pause ends it",
            Sound.ASK,
            first.note,
        )

    def _pressed(self, stroke: Stroke, now_us: int) -> Iterator[Say]:
        if self._phase is _Phase.ASK:
            self.asked.append(AskedPress(self._question, frozenset(heard.point for heard in stroke.heard)))
            yield from self._next_question(now_us)
        elif not self.over:
            self._run_of_phase().append(stroke)

    def _waited(self, now_us: int) -> Iterator[Say]:
        """Silence: it ends a run, and answers a question."""
        if self._phase is _Phase.ASK:
            self.asked.append(AskedPress(self._question, frozenset()))
            yield from self._next_question(now_us)
        elif self._run_of_phase():
            yield from self._run_ended(now_us)
        else:
            self._quiet_since_us = now_us
            yield Say("nothing heard yet", Sound.FAIL)

    def _run_ended(self, now_us: int) -> Iterator[Say]:
        run = self._run_of_phase()
        yield Say(f"{len({heard.point for stroke in run for heard in stroke.heard})} places heard in the run")
        if self._phase is _Phase.UP and self._both_ways:
            yield from self._ask_run(now_us, _Phase.DOWN)
        else:
            yield from self._next_question(now_us)

    def _next_question(self, now_us: int) -> Iterator[Say]:
        result = self.result
        if result.again and self._runs >= RUNS_MOST:
            self._up, self._down = [], []
            result = self.result
            yield Say("single presses deny this run as well: every key is asked for by name", Sound.FAIL)
        if result.again:
            yield Say("single presses say otherwise than the run: it is played once more", Sound.FAIL)
            yield from self._ask_run(now_us, _Phase.UP)
        elif result.ask:
            yield from self._ask_for(self._by_point[result.ask[0]], now_us)
        else:
            self._phase = _Phase.OVER
            yield Say("nothing is left to ask", Sound.PASS)

    def _ask_for(self, key: LessonKey, now_us: int) -> Iterator[Say]:
        self._phase, self._question = _Phase.ASK, key.point
        self._since_us = self._quiet_since_us = now_us
        yield Say(f"press {', '.join(filter(None, (key.words, key.silence)))}", Sound.ASK, key.note)
