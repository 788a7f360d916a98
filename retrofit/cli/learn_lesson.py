"""A lesson held over MIDI, or by looking at the board over its link."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from retrofit.cli.board_plan import plan_on_board
from retrofit.cli.board_port import live_board
from retrofit.cli.prove_person import MonotonicClock, TerminalPerson
from retrofit.cli.prove_source import listening
from retrofit.firmware.link.answers import LaneSeen
from retrofit.plan.model import ConversionPlan
from retrofit.proving.engine import Engine
from retrofit.proving.evidence import Stroke
from retrofit.proving.expected import expected_of
from retrofit.proving.learning.lesson import Lesson
from retrofit.proving.learning.table import place_at, places_of_points
from retrofit.proving.learning.teaching import HeardPresses, teach
from retrofit.proving.records.rows import Kind
from retrofit.proving.runs.clock import Clock
from retrofit.proving.segments import Segmenter

REST_US = 50_000
"""A contact that was off for so long has come to rest: several looks at the board."""


def over_midi(lesson: Lesson, plan: ConversionPlan, port: str | None, serial: str | None, replay: Path | None) -> None:
    """Hold a lesson by what a MIDI source lets hear."""
    with listening(port, serial, replay, plan.job) as heard:
        person = TerminalPerson(heard.clock.now_us, may_type=heard.kind is not Kind.REPLAY)
        engine = Engine(expected_of(plan))
        teach(lesson, HeardPresses(heard.source, engine, heard.clock, places_of_points(plan)), heard.clock, person)


def over_the_link(lesson: Lesson, plan: ConversionPlan, file: Path, port: str, isolated: bool) -> None:
    """Hold a lesson by looking at the board's inputs, unused ones included."""
    clock = MonotonicClock()
    with live_board(port, plan.job, isolated, command_s=None) as board:
        plan_on_board(board, plan, file)
        teach(lesson, SeenPresses(board, clock, place_at(plan)), clock, TerminalPerson(clock.now_us))


class Looked(Protocol):
    """A board whose inputs can be looked at."""

    def lanes(self) -> tuple[LaneSeen, ...]:
        """Return every lane as it stands now."""


class SeenPresses:
    """Presses as the board's inputs show them: whatever stands otherwise than when nothing was touched is pressed."""

    def __init__(self, board: Looked, clock: Clock, place_at: dict[tuple[int, int], str]) -> None:
        self._board, self._clock, self._place_at = board, clock, place_at
        self._segmenter = Segmenter()
        self._rest = [lane.level for lane in board.lanes()]
        self._now = list(self._rest)

    ended = False

    def finished(self, now_us: int) -> list[Stroke]:
        """Look once; return the presses that are finished by now."""
        for lane in self._board.lanes():
            for bit in range(8):
                if (lane.level ^ self._now[lane.index]) >> bit & 1:
                    self._switch(lane.index, bit, lane.level)
            self._now[lane.index] = lane.level
        return self._segmenter.finished(now_us)

    def _switch(self, lane: int, bit: int, level: int) -> None:
        place = self._place_at.get((lane, bit))
        if place is not None:
            pressed = bool((level ^ self._rest[lane]) >> bit & 1)
            self._segmenter.switch(place, pressed, self._clock.now_us(), REST_US)
