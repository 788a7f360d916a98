"""A test certificate out of the record of a run and the plan that it was held against."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from retrofit.cli.output import Exit, Stop
from retrofit.papers.certificate import Certificate, CertifiedPoint
from retrofit.plan.model import ConversionPlan
from retrofit.proving.records.compare import ReadingChange, readings_compared
from retrofit.proving.records.course import limits_of
from retrofit.proving.records.rows import Kind, PointRow, ReadingRow, RunRow, State
from retrofit.proving.records.store import RecordFile
from retrofit.proving.runs.limits import Limits


def certificate_of(plan: ConversionPlan, file: RecordFile, run: RunRow) -> Certificate:
    """Return the certificate of a run.  Ends the command where there is nothing that could be certified."""
    if run.head.kind is Kind.REHEARSAL:
        raise Stop(Exit.PROBLEMS, f"run {run.number} is a rehearsal, and certifies nothing; prove the division live")
    if run.state is State.OPEN:
        raise Stop(
            Exit.PROBLEMS,
            f"run {run.number} was interrupted and has no outcome; `retrofit prove --resume` goes on with it",
        )
    if run.head.digest != plan.digest:
        raise Stop(
            Exit.PROBLEMS,
            f"run {run.number} was of plan {run.head.digest}, and the plan is {plan.digest} now; a certificate of a "
            "plan that is no more would certify nothing; prove the division again",
        )
    readings = file.readings(run.number)
    return Certificate(
        about=tuple(_about(run)),
        points=tuple(_point(plan, row) for row in file.points(run.number)),
        remarks=(
            *((f"{row.what}, {row.subject}", row.words) for row in file.remarks(run.number)),
            *map(reading_words, as_found_changes(readings)),
        ),
        limits=tuple(_limits(limits_of(run.head.course))),
    )


def as_found_changes(readings: Sequence[ReadingRow]) -> tuple[ReadingChange, ...]:
    """Return the readings of one visit that were taken before and after."""
    before, after = ([row for row in readings if row.when == when] for when in ("before", "after"))
    return readings_compared(before, after)


def reading_words(change: ReadingChange) -> tuple[str, str]:
    """Return a compared reading in words."""
    verdict = "passed" if change.passes else "failed"
    return (
        f"{change.what}, {change.place}",
        f"{change.before:g} {change.unit} before, {change.after:g} {change.unit} after: {change.difference}, "
        f"{change.allowed}: {verdict}",
    )


def _about(run: RunRow) -> Iterator[tuple[str, str]]:
    head = run.head
    yield "division", head.division
    yield "run", f"{run.number}, {head.kind}, {run.state}, begun {head.began}, ended {run.ended or 'not yet'}"
    yield "listened to", head.port
    yield "tested by", head.who or "not said"


def _point(plan: ConversionPlan, row: PointRow) -> CertifiedPoint:
    latency = next((g.press_latency_us_max / 1000 for g in plan.groups if g.id == row.group), None)
    longest = row.longest_bounce_us / 1000 if row.strokes else None
    return CertifiedPoint(row.point, row.words, row.verdict, row.strokes, row.bounces, longest, latency, row.remark)


def _limits(limits: Limits) -> Iterator[str]:
    yield (
        f"a contact fails with more than {limits.bounces_most} further ons in one stroke, the longest after more than "
        f"{limits.bounce_us / 1000:g} ms (common practice, no source)"
    )
    yield (
        f"a shoe spans at least {limits.span_least:.0%}, turns at most {limits.turns_most} times, gives at least "
        f"{limits.values_least} values (common practice, no source)"
    )
    yield "latency is what the plan promises at most, with the wire idle; it was not measured in this run"
