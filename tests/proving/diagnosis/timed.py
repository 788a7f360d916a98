"""A person before a console in which time passes: bounce, decay and loose joints are heard as strokes with times."""

from __future__ import annotations

from collections.abc import Iterable
from random import Random

from retrofit.proving.diagnosis.diagnose import Diagnosis, diagnose
from retrofit.proving.engine import Engine
from retrofit.proving.evidence import GroupEvidence, Stroke
from retrofit.proving.expected import expected_of
from retrofit.rehearsal.standin.console import StandIn
from retrofit.rehearsal.standin.faults.grammar import parse_fault
from retrofit.rehearsal.standin.from_plan import wiring_of
from retrofit.rehearsal.standin.player import Player
from tests.proving.diagnosis.consoles import Console, catalogue
from tests.proving.diagnosis.injected import names_of

PAUSE_US = 3_000_000
"""Quiet before a press that is asked for, and before the run: longer than the board takes to start."""
ROUNDS = 4


class TimedPerson:
    """Plays the first manual of a console slowly, and presses what is asked for."""

    def __init__(self, console: Console, faults: Iterable[str], seed: int) -> None:
        wiring = wiring_of(console.plan, catalogue())
        for words in faults:
            parse_fault(words, names_of(console)).spoil(wiring)
        self._standin = StandIn(console.plan, wiring, {}, seed)
        self._engine = Engine(expected_of(console.plan))
        self._player = Player(Random(seed))
        self._keys = [contact.point for contact in console.rig.group("great")]

    def run(self) -> tuple[Stroke, ...]:
        """Play from the first key to the last, each let go before the next."""
        moves = self._player.run(self._keys, self._standin.now_us + PAUSE_US)
        self._standin.do(moves)
        return self._until(moves[-1].time_us + PAUSE_US)

    def asked(self, point: str) -> Stroke:
        """Press one key; silence is an answer too."""
        moves = self._player.press(point, self._standin.now_us + PAUSE_US)
        self._standin.do(moves)
        strokes = self._until(moves[-1].time_us + PAUSE_US)
        return (strokes[0] if strokes else Stroke(()))._replace(asked=point)

    def _until(self, time_us: int) -> tuple[Stroke, ...]:
        self._engine.feed(self._standin.advance(time_us))
        return tuple(self._engine.strokes(time_us))


def timed_diagnosis(console: Console, *faults: str, seed: int = 1) -> Diagnosis:
    """Return what is said of a console after a run and the presses that were then asked for."""
    person = TimedPerson(console, faults, seed)
    evidence = GroupEvidence("great", run=person.run())
    for _ in range(ROUNDS):
        found = diagnose(console.rig, (evidence,))
        if not found.ask:
            break
        asked = (*evidence.asked, *map(person.asked, found.ask))
        evidence = GroupEvidence("great", run=evidence.run, asked=asked)
    return found
