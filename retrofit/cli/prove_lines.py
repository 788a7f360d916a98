"""The outcome of a proving run on stdout: lines for a person, JSON for a program."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict

from retrofit.cli.terminal import columns, shown
from retrofit.proving.records.rows import PointRow, RemarkRow, RunRow


def outcome_lines(points: Sequence[PointRow], remarks: Sequence[RemarkRow]) -> Iterator[str]:
    """Yield a line for each point, then what else there is to say."""
    heads = ("point", "outcome", "strokes", "bounces", "longest", "remark")
    yield from columns([heads, *map(_cells, points)]) if points else ()
    for remark in remarks:
        yield f"{remark.what}: {shown(remark.subject)}: {shown(remark.words)}"


def _cells(point: PointRow) -> tuple[str, ...]:
    longest = f"{point.longest_bounce_us / 1000:.1f} ms" if point.bounces else "-"
    return shown(point.words), point.verdict, str(point.strokes), str(point.bounces), longest, shown(point.remark)


def outcome_json(run: RunRow, points: Sequence[PointRow], remarks: Sequence[RemarkRow], *, failed: bool) -> str:
    """Return the same as JSON text.  Keys are only ever added."""
    content = {
        "run": run_content(run),
        "failed": failed,
        "points": [asdict(point) for point in points],
        "remarks": [asdict(remark) for remark in remarks],
    }
    return json.dumps(content, indent=1, ensure_ascii=True) + "\n"


def run_content(run: RunRow) -> dict[str, object]:
    """Return what a run was of, for other programs."""
    head = run.head
    return {
        "number": run.number,
        "division": head.division,
        "digest": head.digest,
        "kind": str(head.kind),
        "port": head.port,
        "who": head.who,
        "began": head.began,
        "ended": run.ended,
        "state": str(run.state),
    }
