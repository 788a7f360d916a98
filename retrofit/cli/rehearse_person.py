"""The person of a rehearsal: shows on stderr what the run says, and does it to the stand-in console."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from retrofit.cli.output import talk
from retrofit.cli.prove_person import SIGNS
from retrofit.cli.rehearse_console import Stage
from retrofit.cli.rehearse_shoe import STEP_US
from retrofit.proving.runs.limits import SECOND_US
from retrofit.proving.runs.run import ProvingRun
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.steps import Step, StepKind
from retrofit.rehearsal.standin.hands import Move, ShoeMove
from retrofit.rehearsal.standin.player import Player

_CHORD = re.compile(r": chord (?P<number>\d+) of \d+: hold .*")
_PASSED = re.compile(r"(?P<words>.*): passed(; next .*)?")
_ANSWERED = re.compile(r"press .*|.*; once more")
"""What is followed by words that tell it whole."""
STOP_HELD_MS = 500
Sweep = Callable[[str], Sequence[float]]
"""Gives the places of a shoe that is moved slowly, from closed to open and back."""


class RehearsingPerson:
    """Does what a run asks for, by its words.

    The course is told for whoever reads it afterwards: points that pass one after another in one line, and of a press
    that was asked for only how it came out.
    """

    def __init__(self, stage: Stage, run: ProvingRun, player: Player, quick: Player, sweep: Sweep) -> None:
        self._stage, self._run, self._player, self._quick, self._sweep = stage, run, player, quick, sweep
        self._points = {point.words: point.id for point in (*run.expected.contacts, *run.expected.shoe_points)}
        self._passed: list[str] = []

    def say(self, say: Say) -> None:
        """Show what was said, and do it."""
        passed = _PASSED.fullmatch(say.words) if say.sound is Sound.PASS else None
        if passed is not None:
            self._passed.append(passed["words"])
        elif not _ANSWERED.fullmatch(say.words):
            self.finish()
            talk(f"{SIGNS[say.sound]} {say.words}")
        self._stage.console.do(self._moves(say.words))

    def finish(self) -> None:
        """Show what has passed and was not shown yet."""
        if self._passed:
            first, last = self._passed[0], self._passed[-1]
            course = f"{first}: passed" if len(self._passed) == 1 else f"{first} to {last}: {len(self._passed)} passed"
            talk(f"{SIGNS[Sound.PASS]} {course}")
        self._passed = []

    def words(self) -> Sequence[str]:
        """Nothing is typed: whatever is asked is done."""
        return ()

    def _moves(self, words: str) -> Sequence[Move]:
        now_us = self._stage.console_us()
        verb, _, named = words.partition(" ")
        if verb == "press" and named in self._points:
            return self._player.asked(self._points[named], now_us)
        if verb == "move" and named.removesuffix(" on and off") in self._points:
            point = self._points[named.removesuffix(" on and off")]
            return self._player.press(point, now_us + SECOND_US, STOP_HELD_MS)
        step = self._run.step
        if step is None:
            return ()
        chord = _CHORD.fullmatch(words.removeprefix(step.subject))
        if chord is not None:
            return self._player.chord(step.chords[int(chord["number"]) - 1].points, now_us + SECOND_US)
        return self._begun(step, now_us + SECOND_US) if words.startswith(f"{step.title}: ") else ()

    def _begun(self, step: Step, at_us: int) -> Sequence[Move]:
        """Return what is done when a step begins; nothing for one in which nothing is to be touched."""
        deed = _DEEDS.get(step.kind)
        return () if deed is None else deed(self, step, at_us)

    def _slow(self, step: Step, at_us: int) -> Sequence[Move]:
        return self._player.run([point.id for point in step.points], at_us)

    def _fast(self, step: Step, at_us: int) -> Sequence[Move]:
        return self._quick.run([point.id for point in step.points], at_us)

    def _stops(self, step: Step, at_us: int) -> Sequence[Move]:
        pressed = (
            self._player.press(point.id, at_us + number * SECOND_US, STOP_HELD_MS)
            for number, point in enumerate(step.points)
        )
        return [move for moves in pressed for move in moves]

    def _all_stops(self, step: Step, at_us: int) -> Sequence[Move]:
        points = [point.id for point in step.points]
        return [
            *self._player.change(points, at_us, on=True),
            *self._player.change(points, at_us + 3 * SECOND_US, on=False),
        ]

    def _shoe(self, step: Step, at_us: int) -> Sequence[Move]:
        places = self._sweep(step.subject)
        return [ShoeMove(at_us + n * STEP_US, step.subject, place) for n, place in enumerate(places)]


_DEEDS: dict[StepKind, Callable[[RehearsingPerson, Step, int], Sequence[Move]]] = {
    StepKind.RUN: RehearsingPerson._slow,
    StepKind.PISTONS: RehearsingPerson._slow,
    StepKind.FAST: RehearsingPerson._fast,
    StepKind.STOPS: RehearsingPerson._stops,
    StepKind.ALL_STOPS: RehearsingPerson._all_stops,
    StepKind.COMBINATION: RehearsingPerson._all_stops,
    StepKind.SHOES: RehearsingPerson._shoe,
}
