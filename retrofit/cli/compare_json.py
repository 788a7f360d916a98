"""The comparison as JSON, for other programs.  Keys are only ever added."""

from __future__ import annotations

import json
from dataclasses import asdict
from math import isfinite

from retrofit.circuits.sense.design import Judged
from retrofit.plan.topologies.model import BoardLoad, Candidate, Comparison, GroupComparison, WholeConsole


def compare_json(comparison: Comparison) -> str:
    """Return the comparison as JSON text: same job, same bytes."""
    recommended = comparison.recommended
    content = {
        "board": comparison.board,
        "groups": [_group(group) for group in comparison.groups],
        "whole": [_whole(whole) for whole in comparison.whole],
        "recommended": None if recommended is None else recommended.name,
        "reason": comparison.reason,
        "markers": [asdict(marker) for marker in comparison.markers],
    }
    return json.dumps(content, indent=1, ensure_ascii=True, allow_nan=False) + "\n"


def _group(group: GroupComparison) -> dict[str, object]:
    return {
        "id": group.group,
        "contacts": group.contacts,
        "recommended": group.recommended,
        "reason": group.reason,
        "wished": group.wished,
        "consequences": list(group.consequences),
        "candidates": [_candidate(candidate) for candidate in group.candidates],
    }


def _candidate(candidate: Candidate) -> dict[str, object]:
    counts, time = candidate.counts, candidate.time
    return {
        "kind": candidate.kind,
        "verdict": candidate.verdict,
        "wish": candidate.wish,
        "counts": asdict(counts) | {"spare": counts.spare, "watched": counts.watched, "cost": counts.cost},
        "scan_us": _figures(time.scan_us),
        "settle_us": _figures(time.settle_us),
        "steps": time.steps,
        "in_background": time.in_background,
        "ram_bytes": candidate.memory.ram,
        "flash_bytes": candidate.memory.flash,
        "cable": candidate.cable,
        "judged": [_judged(judged) for judged in candidate.judged],
        "refusals": [{"found": refusal.found, "remedy": refusal.remedy} for refusal in candidate.refusals],
        "remarks": list(candidate.remarks),
        "assumptions": list(candidate.assumptions),
    }


def _judged(judged: Judged) -> dict[str, object]:
    result = judged.result
    content: dict[str, object] = {"criterion": judged.criterion, "verdict": judged.verdict}
    if result is None:
        return content | {"missing": judged.missing}
    return content | {
        "value": _figures(result.value),
        "limit": _figures(result.limit),
        "unit": result.unit,
        "at_least": result.at_least,
        "corner": result.corner,
    }


def _whole(whole: WholeConsole) -> dict[str, object]:
    return {
        "name": whole.name,
        "verdict": whole.verdict,
        "choice": dict(whole.choice),
        "boards": [_board(board) for board in whole.boards],
        "least_proven": whole.least_proven,
        "joins": list(whole.joins),
        "without_front_end": list(whole.without_front_end),
        "refusals": list(whole.refusals),
    }


def _board(board: BoardLoad) -> dict[str, object]:
    return {
        "groups": list(board.groups),
        "counts": asdict(board.counts) | {"spare": board.counts.spare, "cost": board.counts.cost},
        "scan_us": _figures(board.scan_us),
        "period_us": board.period_us,
        "ram_bytes": board.memory.ram,
        "flash_bytes": board.memory.flash,
        "chain_hz": board.chain_hz,
        "judged": [_judged(judged) for judged in board.judged],
        "remarks": list(board.remarks),
    }


def _figures(value: float) -> float | None:
    """Return a value with six significant figures; None for one without end, which JSON cannot hold."""
    return float(f"{value:.6g}") if isfinite(value) else None
