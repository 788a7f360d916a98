"""A slow and clumsy person who plays a console in software, and what is heard of it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from random import Random

from retrofit.midi.messages import NOTE_ON
from retrofit.plan.model import ConversionPlan
from retrofit.proving.evidence import Chord, GroupEvidence, HeardPoint, Stroke, stray_words
from retrofit.rehearsal.standin.still import StillConsole


@dataclass(frozen=True)
class Habits:
    """How often, from 0 to 1, a key is left out, struck twice, brushes its neighbour, or is touched too lightly."""

    missed: float = 0.03
    doubled: float = 0.03
    brushed: float = 0.02
    stray: float = 0.005
    asked_missed: float = 0.01
    asked_brushed: float = 0.01
    chord_brushed: float = 0.01


CAREFUL = Habits(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


class Heard:
    """A console whose messages are told in the plan's own names."""

    def __init__(self, plan: ConversionPlan, console: StillConsole) -> None:
        self._console = console
        self._points: dict[bytes, str] = {}
        for point in plan.points:
            if point.message is not None and point.message.on and point.point.takes_part:
                self._points.setdefault(point.message.on, point.point.id)
                if point.message.on[0] & 0xF0 == NOTE_ON:
                    self._points.setdefault(point.message.on[:2], point.point.id)
        self.idle = self.held(())

    def held(self, points: Iterable[str]) -> frozenset[str]:
        """Return what is on while points are held."""
        return frozenset(self._name(message) for message in self._console.hold(points))

    def pressed(self, points: Collection[str]) -> frozenset[str]:
        """Return what a press lets hear: all that it turns on, or off until it is let go."""
        return self.held(points) ^ self.idle

    def _name(self, message: bytes) -> str:
        short = message[:2] if message[0] & 0xF0 == NOTE_ON else message
        return self._points.get(short) or stray_words(message)


class Person:
    """Plays and answers; every press takes a second."""

    def __init__(self, heard: Heard, keys: list[str], random: Random, habits: Habits) -> None:
        self.heard, self.keys, self.random, self.habits = heard, keys, random, habits
        self.now_us = 0

    def run(self) -> tuple[Stroke, ...]:
        """Play from the first key to the last; presses that let nothing hear leave no trace."""
        strokes: list[Stroke] = []
        for i in range(len(self.keys)):
            strokes += self._key(i)
        return tuple(stroke for stroke in strokes if stroke.heard)

    def _key(self, i: int) -> list[Stroke]:
        habits = self.habits
        if self._happens(habits.missed):
            return []
        strokes = [self._press((self.keys[i], *self._neighbour(i, habits.brushed)))]
        if self._happens(habits.doubled):
            strokes.append(self._press((self.keys[i],)))
        if self._happens(habits.stray):
            strokes.append(self._press((self.random.choice(self.keys),)))
        return strokes

    def asked(self, point: str) -> Stroke:
        """Press a key that was asked for by name."""
        i = self.keys.index(point)
        if self._happens(self.habits.asked_missed):
            return Stroke((), asked=point)
        return self._press((point, *self._neighbour(i, self.habits.asked_brushed)))._replace(asked=point)

    def _neighbour(self, i: int, chance: float) -> list[str]:
        if not self._happens(chance):
            return []
        return [self.keys[j] for j in (self.random.choice((i - 1, i + 1)),) if 0 <= j < len(self.keys)]

    def _press(self, points: tuple[str, ...]) -> Stroke:
        self.now_us += 1_000_000
        names = sorted(self.heard.pressed(points))
        return Stroke(tuple(HeardPoint(name, self.now_us, self.now_us + 300_000, self._edges()) for name in names))

    def _edges(self) -> int:
        return 4 if self._happens(0.1) else 2

    def chord(self, points: frozenset[str]) -> Chord:
        """Hold several keys."""
        touched = self._neighbour(self.keys.index(min(points)), self.habits.chord_brushed)
        return Chord(points, self.heard.held(points | set(touched)))

    def _happens(self, chance: float) -> bool:
        return self.random.random() < chance


def first_evidence(person: Person, group: str, chords: Iterable[frozenset[str]]) -> GroupEvidence:
    """Return what a first visit lets hear: the idle picture, a run, and chords."""
    return GroupEvidence(group, person.heard.idle, person.run(), (), tuple(map(person.chord, chords)))
