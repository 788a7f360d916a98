"""From the result of a run to the rows that are kept of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from retrofit.proving.records.rows import PointRow, RemarkRow
from retrofit.proving.runs.results import PointResult, RunResult


def point_rows(result: RunResult) -> tuple[PointRow, ...]:
    """Return a row for each point."""
    return tuple(_point_row(point) for point in result.points)


def _point_row(point: PointResult) -> PointRow:
    return PointRow(
        point.point,
        point.words,
        point.group,
        str(point.verdict),
        point.strokes,
        point.bounces,
        point.longest_bounce_us,
        point.shortest_on_us,
        point.remark,
    )


def remark_rows(result: RunResult, causes: Iterable[str] = ()) -> tuple[RemarkRow, ...]:
    """Return what else is kept of a run: findings, chord tests, soak, what was not done, stray messages, causes."""
    return tuple(_remarks(result, causes))


def _remarks(result: RunResult, causes: Iterable[str]) -> Iterator[RemarkRow]:
    for finding in result.findings:
        yield RemarkRow("finding", finding.subject, f"{finding.step}: {finding.words}")
    for test in result.chord_tests:
        extra = ", ".join(test.extra)
        yield RemarkRow("chord", test.group, f"held {', '.join(test.pressed)}: {f'also {extra}' if extra else 'clean'}")
    if result.soak_us:
        yield RemarkRow("soak", result.division, f"{result.soak_us / 60_000_000:g} minutes")
    for title in result.not_done:
        yield RemarkRow("not done", result.division, title.removeprefix(f"{result.division}: "))
    for words, count in result.strays:
        yield RemarkRow("of no point", words, f"{count} times")
    for seen in result.signatures:
        yield RemarkRow(str(seen.kind), seen.subject, f"{seen.found}; {seen.limit}; {seen.reason}")
    for cause in causes:
        yield RemarkRow("cause", result.division, cause)
