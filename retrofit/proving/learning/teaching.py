"""The loop of a lesson: presses from whoever hears or sees them, words from the person, until the lesson is over."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from retrofit.proving.engine import Engine
from retrofit.proving.evidence import HeardPoint, Stroke
from retrofit.proving.learning.lesson import Lesson
from retrofit.proving.runs.clock import Clock
from retrofit.proving.runs.runner import LAG_US, Person
from retrofit.proving.runs.says import Say
from retrofit.proving.sources import Source


class Presses(Protocol):
    """Whoever tells presses, in places."""

    @property
    def ended(self) -> bool:
        """Whether no press will ever come again."""

    def finished(self, now_us: int) -> list[Stroke]:
        """Return the presses that are finished by now; each is returned once."""


class HeardPresses:
    """Presses as a MIDI source lets them hear: a point's message stands for the place that the point has now."""

    def __init__(self, source: Source, engine: Engine, clock: Clock, place_of: Mapping[str, str]) -> None:
        self._source, self._engine, self._clock = source, engine, clock
        self._place_of = place_of

    @property
    def ended(self) -> bool:
        """Whether the source has nothing more to say and all that was held has come to rest."""
        return self._source.ended and not self._engine.on_now()

    def finished(self, now_us: int) -> list[Stroke]:
        """Return the presses that are finished by now."""
        messages = self._source.poll()
        for time_us, _ in messages:
            self._clock.heard(time_us)
        self._engine.feed(messages)
        return [self._in_places(stroke) for stroke in self._engine.strokes(now_us - LAG_US)]

    def _in_places(self, stroke: Stroke) -> Stroke:
        heard: dict[str, HeardPoint] = {}
        for point in stroke.heard:
            place = self._place_of.get(point.point, point.point)
            heard.setdefault(place, point._replace(point=place))
        return Stroke(tuple(heard.values()))


def teach(lesson: Lesson, presses: Presses, clock: Clock, person: Person) -> None:
    """Hold a lesson until it is over; it is stopped where a question meets presses that have ended.

    A recording that is silent after a question has not answered it.
    """
    _tell(person, lesson.begin(clock.now_us()))
    while not lesson.over:
        strokes = presses.finished(clock.now_us())
        _tell(person, lesson.take(strokes, clock.now_us()))
        for words in person.words():
            _tell(person, lesson.said(words, clock.now_us()))
        if presses.ended and lesson.asking:
            _tell(person, lesson.said("quit", clock.now_us()))
        clock.wait()


def _tell(person: Person, says: list[Say]) -> None:
    for say in says:
        person.say(say)
