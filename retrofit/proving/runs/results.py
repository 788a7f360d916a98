"""How each point of a division came out of a run, in figures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from retrofit.proving.expected import ExpectedPoint
from retrofit.proving.runs.notebook import ChordHeard, RunFinding
from retrofit.proving.runs.run import ProvingRun
from retrofit.proving.runs.steps import StepKind
from retrofit.proving.signature import Signature, SignatureKind
from retrofit.proving.signatures import signatures_of
from retrofit.survey.points import PointKind

OF_CONTACTS = frozenset({SignatureKind.CHATTER, SignatureKind.HUM, SignatureKind.SLOW_RELEASE, SignatureKind.FLICKER})
"""Signatures that need no step of their own; they are told, and fail nothing by themselves."""


class Verdict(StrEnum):
    """How a point came out."""

    PASSED = "passed"
    FAILED = "failed"
    NOT_TRIED = "not tried"
    EXCUSED = "excused"


@dataclass(frozen=True, slots=True)
class PointResult:
    """One point.  `bounces` are the most further ons in one stroke; times are microseconds, None where never measured.

    `remark` says what was wrong at first or at last, or why nothing is expected.
    """

    point: str
    words: str
    group: str
    verdict: Verdict
    strokes: int = 0
    bounces: int = 0
    longest_bounce_us: int = 0
    shortest_on_us: int | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True)
class RunResult:
    """The outcome of a run: points, findings, chord tests, the soak, and the steps that were not done."""

    division: str
    points: tuple[PointResult, ...]
    findings: tuple[RunFinding, ...]
    chord_tests: tuple[ChordHeard, ...]
    soak_us: int
    not_done: tuple[str, ...]
    strays: tuple[tuple[str, int], ...]
    finished: bool
    signatures: tuple[Signature, ...] = ()

    @property
    def failed(self) -> bool:
        """Whether anything was not as it should be."""
        return bool(self.findings or self.strays) or any(p.verdict is Verdict.FAILED for p in self.points)

    @property
    def complete(self) -> bool:
        """Whether all was tried and every step done."""
        tried = all(point.verdict is not Verdict.NOT_TRIED for point in self.points)
        return self.finished and tried and not self.not_done


def result_of(run: ProvingRun, division: str) -> RunResult:
    """Return the outcome of a run so far."""
    contacts = [(index, p) for index, p in enumerate(run.expected.contacts) if p.division == division]
    shoes = [point for point in run.expected.shoe_points if point.division == division]
    points = [*(_contact(run, index, point) for index, point in contacts), *(_shoe(run, point) for point in shoes)]
    findings = (*run.notebook.findings, *_bounces(run, [index for index, _ in contacts]))
    return RunResult(
        division,
        tuple(points),
        findings,
        tuple(run.notebook.chord_tests),
        run.notebook.soaked_us,
        tuple(_not_done(run)),
        tuple(sorted(run.engine.strays.items())),
        run.finished,
        tuple(_signatures(run)),
    )


def _signatures(run: ProvingRun) -> Iterator[Signature]:
    """Yield what the counts of single contacts show beyond doubt; company and stillness are judged by the steps."""
    for signature in signatures_of(run.engine, run.now_us):
        if signature.enough and signature.kind in OF_CONTACTS:
            yield signature


def _not_done(run: ProvingRun) -> Iterator[str]:
    """Yield the steps that were left, and while the run is under way those that have not ended."""
    yield from (step.title for step in run.left_out)
    if not run.finished:
        yield from (step.title for step in run.unfinished)


def _contact(run: ProvingRun, index: int, point: ExpectedPoint) -> PointResult:
    tally = run.engine.contacts[index]
    too_many = run.limits.bounces_too_much(tally.retriggers_most, tally.longest_bounce_us)
    verdict, remark = _judged(run, point, "bounces too much" if too_many else "")
    return PointResult(
        point.id,
        point.words,
        point.group,
        verdict,
        tally.strokes,
        tally.retriggers_most,
        tally.longest_bounce_us,
        tally.shortest_on_us,
        remark,
    )


def _shoe(run: ProvingRun, point: ExpectedPoint) -> PointResult:
    verdict, remark = _judged(run, point, "")
    figures = run.notebook.shoes.get(point.id)
    span = "" if figures is None else f"{figures.values} values from {figures.least} to {figures.greatest}"
    return PointResult(point.id, point.words, point.group, verdict, remark="; ".join(filter(None, (remark, span))))


def _judged(run: ProvingRun, point: ExpectedPoint, fault: str) -> tuple[Verdict, str]:
    if point.excuse is not None:
        return Verdict.EXCUSED, point.excuse
    marks = run.notebook.marks.get(point.id, [])
    found = [finding.words for finding in run.notebook.findings if finding.subject == point.id]
    wrong = [*(mark.words for mark in marks if not mark.passed), *found, *filter(None, [fault])]
    remark = "; ".join(dict.fromkeys(wrong))
    if fault or found or (marks and not marks[-1].passed):
        return Verdict.FAILED, remark
    if not marks:
        return Verdict.NOT_TRIED, ""
    doubt = "heard out of order, its place was not asked for" if point.id in run.notebook.unconfirmed else ""
    return Verdict.PASSED, f"at first {remark}, then right" if remark else doubt


def _bounces(run: ProvingRun, indices: Sequence[int]) -> Iterator[RunFinding]:
    """Yield a finding for every contact that bounces more than the limits let pass."""
    for index in indices:
        point, tally = run.expected.contacts[index], run.engine.contacts[index]
        if point.excuse is None and run.limits.bounces_too_much(tally.retriggers_most, tally.longest_bounce_us):
            step = StepKind.FAST if point.kind is PointKind.KEY else StepKind.RUN
            yield RunFinding(
                step,
                point.id,
                f"went on again {tally.retriggers_most} times in one stroke, {run.limits.bounces_most} allowed, the "
                f"longest after {tally.longest_bounce_us / 1000:.1f} ms, {run.limits.bounce_us / 1000:g} ms allowed",
            )
