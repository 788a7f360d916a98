"""What a run has noted so far: marks of single points, findings, and the evidence from which causes are worked out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from retrofit.proving.evidence import Chord, GroupEvidence, Stroke
from retrofit.proving.expected import Expected, ExpectedPoint
from retrofit.proving.runs.shoe_sweep import ShoeFigures
from retrofit.proving.runs.steps import Step, StepKind
from retrofit.proving.strays import stray_told

MARKS_KEPT = 32
"""Newest presses of one point of which it is kept how it did."""
STROKES_KEPT = 4096
"""Presses of one group that are kept as evidence: more than thirty runs over a large manual."""


HELD = "was on when the board started, and has said nothing since"
"""What is found of a contact that the board reported as held and mutes until it is released."""


class Mark(NamedTuple):
    """How a point did in one press: what was wrong with it, or nothing."""

    step: StepKind
    passed: bool
    words: str = ""


class RunFinding(NamedTuple):
    """Something that is not as it should be; `subject` is a point, a group or a division."""

    step: StepKind
    subject: str
    words: str


class ChordHeard(NamedTuple):
    """A chord test as it came out; `extra` was on beside what was held, and `suspects` explain it."""

    group: str
    pressed: tuple[str, ...]
    extra: tuple[str, ...]
    suspects: tuple[str, ...]


class Notebook:
    """Everything noted in one run."""

    def __init__(self, expected: Expected) -> None:
        self.points: Mapping[str, ExpectedPoint] = {p.id: p for p in (*expected.contacts, *expected.shoe_points)}
        self.marks: dict[str, list[Mark]] = defaultdict(list)
        self.findings: list[RunFinding] = []
        self.idle: dict[str, set[str]] = defaultdict(set)
        self.held: frozenset[str] = frozenset()
        self.run: dict[str, list[Stroke]] = defaultdict(list)
        self.asked: dict[str, list[Stroke]] = defaultdict(list)
        self.chords: dict[str, list[Chord]] = defaultdict(list)
        self.chord_tests: list[ChordHeard] = []
        self.shoes: dict[str, ShoeFigures] = {}
        self.soaked_us = 0
        self.unconfirmed: set[str] = set()

    def words(self, point: str) -> str:
        """Return what the user calls a point; of a message of no point, what it says."""
        known = self.points.get(point)
        return stray_told(point) if known is None else known.words

    def listed(self, points: Iterable[str]) -> str:
        """Return several points in the user's words."""
        return ", ".join(map(self.words, points))

    def mark(self, point: str, step: StepKind, wrong: str = "") -> None:
        """Note how a point did; no words mean that it passed."""
        marks = self.marks[point]
        marks.append(Mark(step, not wrong, wrong))
        del marks[:-MARKS_KEPT]

    def hear(self, group: str, stroke: Stroke) -> None:
        """Keep a press of a run as evidence; beyond what any run needs, the newest are kept."""
        strokes = self.run[group]
        strokes.append(stroke)
        del strokes[:-STROKES_KEPT]

    def find(self, step: StepKind, subject: str, words: str) -> None:
        """Note a finding; the same one is noted once."""
        finding = RunFinding(step, subject, words)
        if finding not in self.findings:
            self.findings.append(finding)

    def hold(self, points: frozenset[str]) -> None:
        """Take over which points the board mutes since its start; of one that speaks the finding is withdrawn."""
        spoken, self.held = self.held - points, points
        self.findings = [f for f in self.findings if f.words != HELD or f.subject not in spoken]

    def passed(self, point: str) -> bool:
        """Return whether the newest press of a point was right."""
        marks = self.marks.get(point)
        return marks is not None and marks[-1].passed

    def failed(self, point: str) -> bool:
        """Return whether the newest press of a point was wrong."""
        return bool(self.marks.get(point)) and not self.passed(point)

    def is_excused(self, point: str) -> bool:
        """Return whether nothing is expected of a point."""
        known = self.points.get(point)
        return known is not None and known.excuse is not None

    def is_companion(self, first: str, second: str) -> bool:
        """Return whether two points are contacts under one key, which a finger closes together."""
        one, other = self.points.get(first), self.points.get(second)
        if one is None or other is None:
            return False
        return one.note is not None and (one.group, one.note) == (other.group, other.note)

    def forget(self, step: Step) -> None:
        """Forget what a step noted, because it is done again."""
        subjects = {step.subject, *(point.id for point in step.points)}
        groups = {step.subject, *(point.group for point in step.points)}
        for group in groups:
            self._forget_evidence(step.kind, group)
        kept = {
            name: [mark for mark in marks if mark.step is not step.kind or name not in subjects]
            for name, marks in self.marks.items()
        }
        self.marks = defaultdict(list, {name: marks for name, marks in kept.items() if marks})
        self.findings = [f for f in self.findings if f.step is not step.kind or f.subject not in subjects]

    def _forget_evidence(self, step: StepKind, group: str) -> None:
        match step:
            case StepKind.IDLE:
                self.idle.pop(group, None)
            case StepKind.RUN | StepKind.PISTONS:
                self.run.pop(group, None)
            case StepKind.ASKED:
                self.asked.pop(group, None)
            case StepKind.CHORDS:
                self.chords.pop(group, None)
                self.chord_tests = [test for test in self.chord_tests if test.group != group]
            case _:
                pass

    def evidence(self, group: str) -> GroupEvidence:
        """Return what is known of a group."""
        members = [point for point in self.points.values() if point.group == group]
        held = {point.id for point in members if point.id in self.held}
        return GroupEvidence(
            group=group,
            idle=frozenset(self.idle.get(group, ())) | held,
            run=tuple(self.run.get(group, ())),
            asked=tuple(self.asked.get(group, ())),
            chords=tuple(self.chords.get(group, ())),
            excused=frozenset(point.id for point in members if point.excuse is not None),
        )
