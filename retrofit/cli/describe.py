"""Words for what a plan holds: debounce, messages, what a group sends."""

from __future__ import annotations

from retrofit.midi.messages import CONTROL_CHANGE, NOTE_OFF, NOTE_ON, PROGRAM_CHANGE
from retrofit.midi.number_runs import number_runs
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce

_KINDS = {NOTE_ON: "note", NOTE_OFF: "note", CONTROL_CHANGE: "controller", PROGRAM_CHANGE: "program"}


def debounce_words(debounce: Debounce | None, period_us: int) -> str:
    """Return a group's debounce in words, in samples and milliseconds; `none` for a group without contacts."""
    if debounce is None:
        return "none"

    def samples(count: int) -> str:
        return f"{count} samples ({count * period_us / 1000:g} ms)"

    match debounce.family:
        case DebounceFamily.FIRST_EDGE:
            return f"first-edge, hold {samples(debounce.hold)}"
        case DebounceFamily.CONSECUTIVE:
            return f"consecutive, {samples(debounce.press)}"
        case DebounceFamily.INTEGRATOR:
            return f"integrator, press {samples(debounce.press)}, release {samples(debounce.release)}"
        case DebounceFamily.ASYMMETRIC:
            return f"asymmetric, press {samples(debounce.press)}, release {samples(debounce.release)}"


def message_words(plan: PointPlan) -> str:
    """Return what a point sends, in words: `note 60, channel 2`."""
    if plan.shoe is not None:
        return f"controller {plan.shoe.controller}, channel {plan.shoe.channel}, {plan.shoe.bits} bits"
    if plan.message is None or not plan.message.on:
        return "nothing"
    kind, channel, number = _facts(plan.message.on)
    return f"{kind} {number}, channel {channel}"


def group_sends(plan: ConversionPlan, group: str) -> str:
    """Return what a group sends, numbers of one kind and channel drawn together: `note 36-96 on channel 2`."""
    numbers: dict[tuple[str, int], list[int]] = {}
    for point in plan.points:
        if point.point.group != group:
            continue
        if point.shoe is not None:
            numbers.setdefault(("controller", point.shoe.channel), []).append(point.shoe.controller)
        elif point.message is not None and point.message.on:
            kind, channel, number = _facts(point.message.on)
            numbers.setdefault((kind, channel), []).append(number)
    sent = [f"{kind} {number_runs(found)} on channel {channel}" for (kind, channel), found in numbers.items()]
    return "; ".join(sent) or "nothing"


def _facts(message: bytes) -> tuple[str, int, int]:
    """Return kind, channel from 1, and number of a channel message."""
    return _KINDS[message[0] & 0xF0], (message[0] & 0x0F) + 1, message[1]
