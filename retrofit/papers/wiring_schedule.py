"""The wiring schedule: every wire from where it was found to where it is read, in the order of the addresses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from retrofit.catalogue.load import load_catalogue
from retrofit.papers.coil_notes import COIL_NOTES
from retrofit.papers.csv_text import csv_text
from retrofit.papers.fitted_parts import NOT_KNOWN, parts_words, sensed_group
from retrofit.papers.identity import identity_remarks
from retrofit.papers.inputs import Input, input_of
from retrofit.papers.point_words import key_numbers, note_name_text, note_number_text, remarks_text
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.scan.addresses import Address, ConverterAddress
from retrofit.survey.contacts import GroupBase
from retrofit.survey.points import Point, PointKind

WIRING_SCHEDULE_NAME = "wiring-schedule.csv"
COLUMNS = (
    "line",
    "built",
    "tested",
    "key",
    "point",
    "division",
    "group",
    "note number",
    "note name",
    "name",
    "footage",
    "from strip",
    "from tag",
    "wire colour",
    "photo",
    "board address",
    "input",
    "connector",
    "sense circuit",
    "circuit values",
    "condition",
    "level when off",
    "level when on",
    "idle as found",
    "keyed as found",
    "remarks",
)


def wiring_schedule_csv(plan: ConversionPlan) -> str:
    """Return the schedule as CSV: a row per point, points that share a line one below the other under its number.

    Points without an address come last, without a line number.
    """
    keys = key_numbers(planned.point for planned in plan.points)
    rows = [_row(entry, plan, keys) for entry in _entries(plan)]
    coils = (("coils", words) for words in COIL_NOTES)
    return csv_text([*identity_remarks(plan, "wiring schedule"), *coils], COLUMNS, rows)


@dataclass(frozen=True, slots=True)
class _Entry:
    line: int | None
    address: Address | None
    point: Point


def _entries(plan: ConversionPlan) -> Iterator[_Entry]:
    twins: dict[str, list[Point]] = {}
    for found in plan.points:
        if found.point.same_line_as is not None:
            twins.setdefault(found.point.same_line_as, []).append(found.point)
    for line, wired in enumerate(_wired(plan), start=1):
        for point in (wired.point, *twins.pop(wired.point.id, ())):
            yield _Entry(line, wired.address, point)
    for left in plan.points:
        if left.address is None and (left.point.same_line_as is None or left.point.same_line_as in twins):
            yield _Entry(None, None, left.point)


def _wired(plan: ConversionPlan) -> list[PointPlan]:
    """Points that have a line of their own, in the order in which the board reads them, converters last."""
    ids = (point_id for lane in plan.layout.lanes for point_id in lane.points if point_id is not None)
    order = {point_id: place for place, point_id in enumerate(ids)}
    wired = [point for point in plan.points if point.address is not None and point.point.same_line_as is None]
    return sorted(wired, key=lambda point: (order.get(point.point.id, len(order)), _channel(point.address)))


def _channel(address: Address | None) -> int:
    return address.channel if isinstance(address, ConverterAddress) else 0


def _row(entry: _Entry, plan: ConversionPlan, keys: Mapping[tuple[str, int], int]) -> tuple[str, ...]:
    point, found = entry.point, entry.point.found
    group = next(group for group in plan.job.groups if group.id == point.group)
    place = input_of(entry.address, plan.layout, load_catalogue().boards[plan.board])
    return (
        "" if entry.line is None else str(entry.line),
        "",
        "",
        "" if point.note is None else str(keys[point.group, point.note]),
        point.id,
        point.division,
        point.group,
        note_number_text(point),
        note_name_text(point),
        point.name,
        point.footage,
        found.strip,
        found.tag,
        found.wire_colour,
        found.photo,
        "" if entry.address is None else str(entry.address),
        place.name,
        place.connector,
        *_circuit(entry, plan),
        found.condition.value,
        *_levels(point, place),
        *_as_found(point, group),
        remarks_text(point, plan, _why_no_address(entry, plan), _other_level(entry, plan, place)),
    )


def _levels(point: Point, place: Input) -> tuple[str, str]:
    """What the input reads with the control off and on: a logic level, or a part of the converter's full scale."""
    if point.shoe is not None and place.on_level is None:
        return _part(point.shoe.closed_reading), _part(point.shoe.open_reading)
    if place.on_level is None:
        return "", ""
    return ("high", "low") if place.on_level == "low" else ("low", "high")


def _circuit(entry: _Entry, plan: ConversionPlan) -> tuple[str, str]:
    """Return the circuit between the line and the input, and its values; empty where there is no input or no choice."""
    sensed = sensed_group(plan, entry.point.group)
    if entry.address is None or sensed is None or sensed.chosen is None:
        return "", ""
    return sensed.chosen.circuit, parts_words(sensed.chosen.parts) or NOT_KNOWN


def _other_level(entry: _Entry, plan: ConversionPlan, place: Input) -> str:
    """Return a warning where the levels are not those of the chosen circuit, or not settled by it; else nothing."""
    sensed = sensed_group(plan, entry.point.group)
    if place.on_level is None or sensed is None:
        return ""
    keyed_high = None if sensed.chosen is None else sensed.chosen.keyed_reads_high
    if keyed_high is None:
        return "levels as the job states them: no circuit is worked out that would settle them"
    on_high = keyed_high is not entry.point.closed_at_rest
    if on_high is (place.on_level == "high"):
        return ""
    return f"levels as the job states them: this circuit reads {'high' if on_high else 'low'} when on"


def _part(reading: float | None) -> str:
    return "unknown" if reading is None else f"{reading:g} of full scale"


def _as_found(point: Point, group: GroupBase) -> tuple[str, str]:
    """The two states of the line as they were read before anything was touched."""
    if point.kind is PointKind.SHOE:
        return "", ""
    return str(group.wiring.idle.volts), str(group.wiring.keyed.volts)


def _why_no_address(entry: _Entry, plan: ConversionPlan) -> str:
    if entry.address is not None:
        return ""
    has_stages = any(other.point.stage_of == entry.point.id for other in plan.points)
    return "worked out from its stages" if has_stages else "has no address"
