"""The plan as JSON, for other programs.  Keys are only ever added."""

from __future__ import annotations

import json
from math import isfinite

from retrofit.circuits.sense.design import Judged, Part
from retrofit.cli.describe import debounce_words
from retrofit.plan.model import ConversionPlan, Finding, GroupPlan, MessageChange, PointPlan
from retrofit.plan.sensing.choose import deciding, load_ua
from retrofit.plan.sensing.model import GroupSensing


def plan_json(plan: ConversionPlan) -> str:
    """Return the plan as JSON text: same plan, same bytes."""
    content = {
        "digest": plan.digest,
        "board": plan.board,
        "tick_us": plan.tick_us,
        "busy_us": _micros(plan.busy_us),
        "points": [_point(point) for point in plan.points],
        "groups": [_group(group) for group in plan.groups],
        "sensing": [_sensing(sensed) for sensed in plan.sensing],
        "findings": [_finding(finding) for finding in plan.findings],
        "moves": [{"point": m.point, "recorded": m.recorded, "proposed": m.proposed} for m in plan.moves],
        "message_changes": [_change(change) for change in plan.message_changes],
    }
    return json.dumps(content, indent=1, ensure_ascii=True) + "\n"


def _micros(time_us: float) -> float:
    """Times are rounded to a nanosecond, so that the text does not depend on how a processor rounds."""
    return round(time_us, 3)


def _point(plan: PointPlan) -> dict[str, object]:
    message = plan.message
    content: dict[str, object] = {
        "id": plan.point.id,
        "group": plan.point.group,
        "address": None if plan.address is None else str(plan.address),
        "on": message.on.hex() if message else "",
        "off": message.off.hex() if message else "",
    }
    if plan.shoe is not None:
        shoe = plan.shoe
        content |= {"controller": shoe.controller, "channel": shoe.channel, "bits": shoe.bits}
    if plan.point.stage_of is not None:
        content["stage_of"] = plan.point.stage_of
    return content


def _change(change: MessageChange) -> dict[str, object]:
    return {
        "point": change.point,
        "recorded": change.recorded,
        "proposed": change.proposed,
        "wired": change.wired,
    }


def _group(group: GroupPlan) -> dict[str, object]:
    return {
        "id": group.id,
        "interface": group.interface,
        "period_us": group.period_us,
        "busy_us": _micros(group.busy_us),
        "debounce": debounce_words(group.debounce, group.period_us),
        "press_latency_us_max": _micros(group.press_latency_us_max),
        "release_latency_us_max": _micros(group.release_latency_us_max),
        "guarantees": list(group.guarantees),
    }


def _sensing(sensed: GroupSensing) -> dict[str, object]:
    chosen = sensed.chosen
    return {
        "group": sensed.group,
        "class": sensed.line_class,
        "circuit": None if chosen is None else chosen.circuit,
        "parts": [] if chosen is None else [_part(part) for part in chosen.parts],
        "verdict": sensed.verdict.value,
        "worst": None if chosen is None else _worst(deciding(chosen)),
        "load_ua": None if chosen is None else _finite(load_ua(chosen)),
        "refused": {design.circuit: list(design.refusals) for design in sensed.refused},
    }


def _part(part: Part) -> dict[str, object]:
    return {
        "role": part.role,
        "kind": part.kind,
        "value": _figures(part.value),
        "unit": part.unit,
        "tolerance": _figures(part.tolerance),
        "rating": part.rating,
    }


def _worst(judged: Judged | None) -> dict[str, object] | None:
    if judged is None or judged.result is None:
        return None
    result = judged.result
    return {
        "criterion": judged.criterion,
        "value": _finite(result.value),
        "limit": _finite(result.limit),
        "unit": result.unit,
        "corner": result.corner,
    }


def _figures(value: float) -> float:
    """Return a value with six significant figures, so that the text does not depend on how a processor rounds."""
    return float(f"{value:.6g}")


def _finite(value: float) -> float | None:
    """Return a value with six significant figures; None for one without end, which JSON cannot hold."""
    return _figures(value) if isfinite(value) else None


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "subject": finding.subject,
        "message": finding.message,
        "waived": finding.waived,
    }
