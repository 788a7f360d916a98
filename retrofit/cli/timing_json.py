"""The timing report as JSON, for other programs.  Keys are only ever added."""

from __future__ import annotations

import json

from retrofit.plan.timing_report import GroupTime, SplitAdvice, TimingReport
from retrofit.timing.promises import Edge
from retrofit.timing.queues import QueueNeed
from retrofit.timing.wire_scenarios import Timed


def timing_json(report: TimingReport) -> str:
    """Return the report as JSON text: same plan, same bytes.  Times are microseconds."""
    content = {
        "groups": [_group(group) for group in report.groups],
        "wire": report.wire,
        "bursts": [_burst(burst) for burst in report.bursts],
        "queues": [_queue(queue) for queue in report.queues],
        "note_wait_us_max": _figures(report.note_wait_us_max),
        "ports": [_advice(one) for one in report.advice],
        "crowded": report.crowded,
    }
    return json.dumps(content, indent=2, ensure_ascii=False) + "\n"


def _group(group: GroupTime) -> dict[str, object]:
    plan, promised = group.plan, group.promises
    return {
        "id": plan.id,
        "period_us": plan.period_us,
        "press_parts_us": {part.value: _figures(time_us) for part, time_us in group.budget.all_parts},
        "press_settled_us_max": _figures(group.budget.settled_us),
        "press_touched_us_max": _figures(group.budget.touched_us),
        "press": _edge(promised.press),
        "release": _edge(promised.release),
        "bounce_covered_us": _figures(promised.covered_us),
        "certain_strokes_per_s": _figures(promised.certain_per_s),
        "merged_strokes_per_s": _figures(promised.merged_per_s),
        "repetition": group.repetition,
        "fails_when": list(promised.fails_when),
        "guarantees": list(plan.guarantees),
    }


def _edge(edge: Edge) -> dict[str, float | None]:
    return {
        "clean_us_max": _figures(edge.clean_us_max),
        "bounced_us_max": _figures(edge.bounced_us_max),
        "never_heard_below_us": _figures(edge.never_us),
        "always_heard_from_us": _figures(edge.always_us),
    }


def _burst(burst: Timed) -> dict[str, object]:
    return {
        "id": burst.scenario.id,
        "title": burst.scenario.title,
        "messages": burst.time.messages,
        "bytes": burst.time.bytes,
        "nominal_us": _figures(burst.time.nominal_us),
        "us_max": _figures(burst.time.us_max),
        "share": _figures(burst.share),
        "verdict": burst.judgement.verdict.value,
        "meaning": burst.judgement.words,
    }


def _queue(queue: QueueNeed) -> dict[str, object]:
    return {"ring": queue.ring, "needed": queue.needed, "slots": queue.slots, "fits": queue.fits}


def _advice(advice: SplitAdvice) -> dict[str, object]:
    split = advice.split
    return {
        "burst": advice.scenario,
        "channels_by_port": None if split is None else [list(channels) for channels in split.ports],
        "us_max": None if split is None else _figures(split.us_max),
        "usb_us_max": _figures(advice.usb_us_max),
    }


def _figures(value: float | None) -> float | None:
    """Return a value with six significant figures, so that the text does not depend on how a processor rounds."""
    return None if value is None else float(f"{value:.6g}")
