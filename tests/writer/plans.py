"""Plans put together by hand, small enough to know every byte of: a console with one of everything."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from retrofit.midi.messages import PointMessage, ShoeMessage, control_change, note_off, note_on, program_change
from retrofit.plan.model import ConversionPlan, GroupPlan, PointPlan
from retrofit.scan.addresses import (
    Address,
    ChainAddress,
    ConverterAddress,
    ExpanderAddress,
    MatrixAddress,
    MultiplexerAddress,
    PinAddress,
)
from retrofit.scan.layout import Lane, MatrixLayout, Run, ScanLayout, Source
from retrofit.survey.job import Job
from retrofit.survey.points import Point, PointKind, list_points
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce

NASTY_NAME = 'Vox*/ #error "x" {{ 7*7 }} ??/\n\u202etibia\x07 \\'

JOB: dict[str, Any] = {
    "format": 1,
    "instrument": {"name": "Bench console", "invented": True},
    "divisions": [{"id": "great", "name": "Great", "channel": 1}, {"id": "pedal", "channel": 3}],
    "groups": [
        {
            "id": "great",
            "name": "Great keys",
            "kind": "manual",
            "division": "great",
            "compass": {"lowest": 36, "count": 10},
            "points": [{"note": 37, "condition": "dead", "strip": "A", "tag": "2", "wire_colour": "red"}],
            "wiring": {"idle": {"volts": "0,1 V"}, "keyed": {"volts": "-12"}},
        },
        {
            "id": "pedal",
            "kind": "pedalboard",
            "division": "pedal",
            "compass": {"lowest": 36, "count": 9},
        },
        {
            "id": "tabs",
            "name": "Tabs",
            "kind": "stops",
            "division": "great",
            "points": [
                {"id": "vox", "name": NASTY_NAME, "footage": "8", "rest": "closed"},
                {"id": "flute", "name": "=Flûte", "footage": "4"},
                {"id": "gap", "condition": "left-out"},
            ],
        },
        {
            "id": "pistons",
            "kind": "pistons",
            "division": "great",
            "points": [
                {
                    "id": "p1",
                    "name": "1",
                    "notes": [{"date": "2026-02-01", "initials": "RB", "text": "worn"}],
                },
                {"id": "p2", "name": "2"},
            ],
        },
        {"id": "studs", "kind": "toe-studs", "division": "great", "points": [{"id": "s1", "name": "stud 1"}]},
        {
            "id": "shoes",
            "kind": "shoes",
            "division": "great",
            "points": [
                {"id": "swell", "name": "Swell", "sensor": "potentiometer", "closed_reading": 0.9, "open_reading": 0.1}
            ],
        },
        {"id": "roller", "name": "Roller", "kind": "roller", "division": "great", "stages": 3},
    ],
    "same_lines": [{"points": ["pistons.p1", "studs.s1"], "remark": "one wire"}],
}

FIRST_EDGE = Debounce(DebounceFamily.FIRST_EDGE, hold=11)
CONSECUTIVE = Debounce(DebounceFamily.CONSECUTIVE, press=15)
ASYMMETRIC = Debounce(DebounceFamily.ASYMMETRIC, press=2, release=20)


def bench_job(changes: dict[str, Any] | None = None) -> Job:
    """Return the job of the bench console, with top-level keys replaced by `changes`."""
    return Job.model_validate(JOB | (changes or {}))


def bench_plan(job: Job | None = None, **changes: Any) -> ConversionPlan:
    """Return a plan of the bench console; `changes` replace fields of the plan."""
    job = job or bench_job()
    points = list_points(job)
    lanes = (
        *_chain_lanes("great", 0, 0, _ids(points, "great"), invert=0xFF),
        *_matrix_lanes("pedal", 2, _ids(points, "pedal")),
        _lane("tabs", 5, Source.CHAIN, "chain", 2, ["tabs.vox", "tabs.flute", None], used=0b011, invert=0b010),
        *_chain_lanes("roller", 6, 3, ["roller.1", "roller.2", "roller.3"], invert=0xFF),
        _lane("pistons", 7, Source.PORT, "L", 0, ["pistons.p1", "pistons.p2"], used=0b11, invert=0b11),
    )
    lanes = _in_reading_order(lanes)
    layout = ScanLayout(
        lanes=lanes,
        runs=_runs(lanes),
        registers=4,
        spi_hz=2_000_000,
        matrices=(MatrixLayout(1, ("22", "23", "24"), "C", 3, 5.5),),
        converters={"shoes.swell": ConverterAddress(2)},
    )
    fields: dict[str, Any] = {
        "job": job,
        "digest": "0123456789abcdef",
        "board": "atmega2560",
        "tick_us": 500,
        "busy_us": 100.0,
        "points": tuple(_point_plan(point, layout) for point in points),
        "groups": _groups(),
        "layout": layout,
    }
    return ConversionPlan(**fields | changes)


def _groups() -> tuple[GroupPlan, ...]:
    return (
        _group("great", "Great keys", 0, 0, FIRST_EDGE),
        _group("pedal", "Pedal keys", 0, 0, FIRST_EDGE),
        _group("tabs", "Tabs", 2, 1, CONSECUTIVE),
        _group("pistons", "Pistons", 2, 2, ASYMMETRIC),
        _group("roller", "Roller", 2, 3, CONSECUTIVE),
    )


def _group(group: str, name: str, divider_log2: int, phase: int, debounce: Debounce) -> GroupPlan:
    return GroupPlan(
        id=group,
        name=name,
        interface="chain",
        period_us=500 << divider_log2,
        divider_log2=divider_log2,
        phase=phase,
        busy_us=10.0,
        debounce=debounce,
        press_latency_us_max=2000.0,
        release_latency_us_max=8000.0,
    )


def _ids(points: Iterable[Point], group: str) -> list[str]:
    return [point.id for point in points if point.group == group]


def _lane(
    group: str, index: int, source: Source, where: str, place: int, ids: Sequence[str | None], *, used: int, invert: int
) -> Lane:
    padded = (*ids, *(None,) * (8 - len(ids)))
    return Lane(index, group, source, where, place, used, invert, padded)


def _chain_lanes(group: str, index: int, register: int, ids: list[str], invert: int) -> list[Lane]:
    rows = [ids[start : start + 8] for start in range(0, len(ids), 8)]
    return [
        _lane(group, index + i, Source.CHAIN, "chain", register + i, row, used=(1 << len(row)) - 1, invert=invert)
        for i, row in enumerate(rows)
    ]


def _matrix_lanes(group: str, index: int, ids: list[str]) -> list[Lane]:
    rows = [ids[start : start + 3] for start in range(0, len(ids), 3)]
    return [_lane(group, index + i, Source.MATRIX, "1", i, row, used=0b111, invert=0b111) for i, row in enumerate(rows)]


def _in_reading_order(lanes: Iterable[Lane]) -> tuple[Lane, ...]:
    order = list(Source)
    ordered = sorted(lanes, key=lambda lane: (order.index(lane.source), lane.where, lane.place))
    return tuple(
        Lane(index, lane.group, lane.source, lane.where, lane.place, lane.used, lane.invert, lane.points)
        for index, lane in enumerate(ordered)
    )


def _runs(lanes: Sequence[Lane]) -> tuple[Run, ...]:
    groups = dict.fromkeys((lane.group, lane.source, lane.where) for lane in lanes)
    found = []
    for group, source, where in groups:
        own = [lane.index for lane in lanes if lane.group == group]
        found.append(Run(group, source, where, own[0], len(own)))
    return tuple(found)


def _point_plan(point: Point, layout: ScanLayout) -> PointPlan:
    message, shoe = _sent(point)
    return PointPlan(point, _where(point, layout), message, shoe)


def _where(point: Point, layout: ScanLayout) -> Address | None:
    if point.id in layout.converters:
        return layout.converters[point.id]
    for lane in layout.lanes:
        if point.id in lane.points:
            return _address(lane, lane.points.index(point.id))
    return None


def _address(lane: Lane, bit: int) -> Address:
    match lane.source:
        case Source.CHAIN:
            return ChainAddress(lane.place, bit)
        case Source.MATRIX:
            return MatrixAddress(int(lane.where), lane.place, bit)
        case Source.PORT:
            return PinAddress(str(49 - bit), lane.where, bit)
        case Source.MULTIPLEXER:
            return MultiplexerAddress(8 * (int(lane.where) - 1) + bit + 1, lane.place)
        case Source.EXPANDER:
            return ExpanderAddress(int(lane.where), 8 * lane.place + bit)
        case Source.LISTEN:
            raise AssertionError("these plans listen to no scanner")


def _sent(point: Point) -> tuple[PointMessage | None, ShoeMessage | None]:
    if point.kind is PointKind.SHOE:
        return None, ShoeMessage(channel=1, controller=11 if point.id == "shoes.swell" else 16)
    if point.kind is PointKind.STAGE or point.same_line_as or not point.takes_part:
        return None, None
    return _contact_message(point), None


def _contact_message(point: Point) -> PointMessage:
    if point.kind is PointKind.KEY:
        assert point.note is not None
        channel = 3 if point.group == "pedal" else 1
        return PointMessage(note_on(channel, point.note, 100), note_off(channel, point.note))
    if point.kind is PointKind.PISTON:
        return PointMessage(program_change(5, point.position), b"")
    return PointMessage(control_change(1, 20 + point.position, 127), control_change(1, 20 + point.position, 0))
