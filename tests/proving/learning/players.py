"""A keyboard wired in any order, and a clumsy person who plays it: what is heard of him, press by press."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from retrofit.proving.evidence import HeardPoint, Stroke
from retrofit.proving.learning.lesson import RUNS_MOST
from retrofit.proving.learning.order import Blocks
from retrofit.proving.learning.solve import Learned, learned
from retrofit.proving.learning.votes import AskedPress

SECOND_US = 1_000_000


@dataclass(frozen=True)
class Keyboard:
    """Keys in order, the place that each is wired to, and those that let hear nothing."""

    keys: tuple[str, ...]
    wired: dict[str, str]
    silent: frozenset[str]

    def heard(self, *numbers: int) -> list[str]:
        """Return the places that speak when keys of these numbers are down."""
        fitting = [self.keys[number] for number in numbers if 0 <= number < len(self.keys)]
        return [self.wired[key] for key in fitting if key not in self.silent]


@dataclass(frozen=True)
class Habits:
    """How often, of 1, a person leaves a key out, strikes it twice, goes back, brushes, or touches too lightly."""

    miss: float = 0.02
    double: float = 0.03
    back: float = 0.02
    brush: float = 0.03
    light: float = 0.03
    late: float = 0.0
    """Strikes a key and the next one in the wrong order, and goes on as if nothing were wrong."""


def keyboard(random: Random, count: int, silent: float) -> Keyboard:
    """Return a keyboard of random wiring, in which some keys let hear nothing."""
    keys = tuple(f"key {number}" for number in range(count))
    places = [f"place {number}" for number in range(count + 7)]
    random.shuffle(places)
    dumb = frozenset(key for key in keys if random.random() < silent)
    return Keyboard(keys, dict(zip(keys, places, strict=False)), dumb)


def run_over(board: Keyboard, random: Random, habits: Habits, down: bool = False) -> tuple[Stroke, ...]:
    """Return what is heard of a run from the first key to the last, or back down.

    Whoever goes back plays on through every key from there.
    """
    strokes: list[Stroke] = []
    last = len(board.keys) - 1
    for struck in _numbers(len(board.keys), random, habits):
        number = last - struck if down else struck
        beside = [number + random.choice((-1, 1))] if random.random() < habits.brush else []
        sounding = board.heard(number, *beside)
        random.shuffle(sounding)
        on_us = len(strokes) * SECOND_US
        edges = random.choice((2, 2, 2, 4, 6))
        strokes += [Stroke(tuple(HeardPoint(p, on_us + i, on_us + 300_000, edges) for i, p in enumerate(sounding)))]
    return tuple(stroke for stroke in strokes if stroke.heard)


def _numbers(count: int, random: Random, habits: Habits) -> list[int]:
    struck: list[int] = []
    number, through = 0, -1
    while number < count:
        went_back = number <= through
        if random.random() >= habits.miss or went_back:
            struck += [number, number] if random.random() < habits.double else [number]
        if random.random() < habits.late and number + 2 < count and struck and not went_back:
            struck += [number + 2, number + 1]
            number += 2
        through = max(through, number)
        number += 1
        if random.random() < habits.back and not went_back:
            number = max(0, number - random.randint(1, 4))
    return struck


def pressed(board: Keyboard, key: str, random: Random, habits: Habits) -> AskedPress:
    """Return what one press that was asked for lets hear."""
    if random.random() < habits.light:
        return AskedPress(key, frozenset())
    number = board.keys.index(key)
    beside = [number + random.choice((-1, 1))] if random.random() < habits.brush else []
    return AskedPress(key, frozenset(board.heard(number, *beside)))


@dataclass(frozen=True)
class Taught:
    """How a whole lesson went: what was learned, how many presses were asked for, how many runs it took."""

    learned: Learned
    asked: int
    runs: int


def taught(board: Keyboard, run: Callable[[], Blocks], press: Callable[[str], AskedPress]) -> Taught:
    """Hold a lesson: a run, then every question answered, until nothing is left to ask.

    Every other silent key is known as dead.
    """
    dead = frozenset(key for number, key in enumerate(board.keys) if key in board.silent and number % 2)
    asked: list[AskedPress] = []
    order, runs = run(), 1
    for _ in range(20 * len(board.keys)):
        found = learned(board.keys, order, asked, dead)
        if found.settled:
            return Taught(found, len(asked), runs)
        if found.again:
            order, runs = (run(), runs + 1) if runs < RUNS_MOST else ((), runs)
        else:
            asked.append(press(found.ask[0]))
    raise AssertionError("the lesson never ended")
