"""What differs between two plans of one console, in the words of those who work on it.

What a board does and is called makes its digest; everything that the digest is of is compared here, point by point.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from retrofit.midi.names import note_name
from retrofit.plan.as_built import messages_to_record
from retrofit.plan.model import ConversionPlan, GroupPlan, PointPlan
from retrofit.timing.debounce import Debounce

NOT_THERE = "not there"


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not the same: of which subject, what, and how each side has it."""

    subject: str
    what: str
    first: str
    second: str


def plan_differences(first: ConversionPlan, second: ConversionPlan) -> tuple[Difference, ...]:
    """Return every difference in what the two boards do: the whole first, then groups, then points, in file order."""
    return (
        *_compared("instrument", _whole(first), _whole(second)),
        *_each(
            {group.id: _group(group) for group in first.groups}, {group.id: _group(group) for group in second.groups}
        ),
        *_each(_points(first), _points(second)),
    )


def _each(first: Mapping[str, Mapping[str, str]], second: Mapping[str, Mapping[str, str]]) -> Iterator[Difference]:
    for subject in dict.fromkeys((*first, *second)):
        yield from _compared(subject, first.get(subject), second.get(subject))


def _compared(subject: str, first: Mapping[str, str] | None, second: Mapping[str, str] | None) -> Iterator[Difference]:
    """Yield what differs of one subject, once when a side lacks it altogether."""
    if first is None or second is None:
        yield Difference(subject, "all of it", _presence(first), _presence(second))
        return
    for what in dict.fromkeys((*first, *second)):
        mine, theirs = first.get(what, NOT_THERE), second.get(what, NOT_THERE)
        if mine != theirs:
            yield Difference(subject, what, mine, theirs)


def _presence(side: Mapping[str, str] | None) -> str:
    return NOT_THERE if side is None else "there"


def _whole(plan: ConversionPlan) -> dict[str, str]:
    wishes = plan.job.wanted.model_dump(mode="json", exclude={"stored_description"})
    named = {name.replace("_", " "): str(value) for name, value in wishes.items()}
    return {"name": plan.job.instrument.name, "tick": f"{plan.tick_us} µs", **named}


def _group(group: GroupPlan) -> dict[str, str]:
    return {
        "read by": group.interface,
        "sampled": f"every {group.period_us} µs, phase {group.phase}",
        "debounce": _debounce(group.debounce),
    }


def _debounce(debounce: Debounce | None) -> str:
    if debounce is None:
        return "none"
    return f"{debounce.family.value}, press {debounce.press}, release {debounce.release}, hold {debounce.hold} samples"


def _points(plan: ConversionPlan) -> dict[str, dict[str, str]]:
    messages = messages_to_record(plan.points)
    inverted = {
        point: bool(lane.invert >> bit & 1)
        for lane in plan.layout.lanes
        for bit, point in enumerate(lane.points)
        if point
    }
    return {
        point.point.id: _point(point, messages.get(point.point.id, "nothing"), inverted.get(point.point.id))
        for point in plan.points
    }


def _point(plan: PointPlan, sends: str, inverted: bool | None) -> dict[str, str]:
    point = plan.point
    note = "" if point.note is None else note_name(point.note)
    exact = [plan.message.on.hex(" "), plan.message.off.hex(" ")] if plan.message else []
    facts = {
        "name": f"{point.name} {note}".strip(),
        "address": str(plan.address) if plan.address is not None else "none",
        "sends": " / ".join([sends, *filter(None, exact)]),
        "at rest": "closed" if point.closed_at_rest else "open",
    }
    if inverted is not None:
        facts["on reads"] = "low" if inverted else "high"
    if plan.shoe is not None:
        facts["bits"] = str(plan.shoe.bits)
    return facts | _travel(plan)


def _travel(plan: PointPlan) -> dict[str, str]:
    shoe = plan.point.shoe
    if shoe is None:
        return {}
    ends = {"closed at": shoe.closed_reading, "open at": shoe.open_reading, "stages": shoe.stages}
    curve = ", ".join(f"{point.reading:g} gives {point.value}" for point in shoe.curve)
    known = {what: "not measured" if value is None else f"{value:g}" for what, value in ends.items()}
    return {"sensor": shoe.sensor.value, "style": shoe.style.value, "curve": curve or "none", **known}
