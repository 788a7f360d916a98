"""A simulation's result as JSON, for other programs.  Keys are only ever added."""

from __future__ import annotations

import json

from retrofit.rehearsal.from_plan import LeftOut
from retrofit.rehearsal.simulation import GroupResult, Rate, Result, Spread


def simulation_json(result: Result, left_out: tuple[LeftOut, ...], seed: int, assumed_bounce_us: float | None) -> str:
    """Return the result as JSON text: same job, same length, same seed, same bytes.  Times are microseconds."""
    content = {
        "seconds": result.seconds,
        "seed": seed,
        "complete": result.complete,
        "assumed_bounce_us": assumed_bounce_us,
        "groups": [_group(group) for group in result.groups],
        "left_out": [{"group": one.group, "why": one.why} for one in left_out],
    }
    return json.dumps(content, indent=2, ensure_ascii=False) + "\n"


def _group(group: GroupResult) -> dict[str, object]:
    return {
        "id": group.id,
        "strokes": group.strokes,
        "touched_us": _spread(group.touched),
        "settled_us": _spread(group.settled),
        "double": _rate(group.double),
        "lost": _rate(group.lost),
    }


def _spread(spread: Spread) -> dict[str, float | None]:
    found: dict[str, float | None] = {f"{share:g}": _figures(time_us) for share, time_us in spread.percentiles}
    return {**found, "greatest": None if spread.greatest is None else _figures(spread.greatest)}


def _rate(rate: Rate) -> dict[str, float]:
    return {
        "cases": rate.cases,
        "per_million": _figures(rate.per_million),
        "per_million_at_most": _figures(rate.per_million_at_most),
    }


def _figures(value: float) -> float:
    """Return a value with six significant figures, so that the text does not depend on how a processor rounds."""
    return float(f"{value:.6g}")
