"""From plan to rows: the bench console, value by value, and everything that the table refuses."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from retrofit.firmware.rows import Duty, Family, RunSource, ShoeKind, Table, TableError
from retrofit.firmware.table import build_table
from retrofit.midi.messages import PointMessage
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.scan.layout import MatrixLayout, Run, ScanLayout, Source
from retrofit.survey.points import PointKind
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from tests.writer.compiling import board
from tests.writer.plans import JOB, bench_job, bench_plan


@pytest.fixture(scope="module")
def table() -> Table:
    """Return the table of the bench console."""
    return build_table(bench_plan(), board())


def test_sizes_are_counted(table: Table) -> None:
    """Every size is that of its table; settings are turned into ticks and dividers."""
    assert dict(table.sizes.macros()) == {
        "TABLE_FORMAT_OF_FILE": 3,
        "LANE_COUNT": 8,
        "RUN_COUNT": 5,
        "GROUP_COUNT": 5,
        "MATRIX_COUNT": 1,
        "BANK_COUNT": 0,
        "EXPANDER_COUNT": 0,
        "LISTEN_PORTS": 0,
        "LISTEN_STROBE_PORT": 0,
        "LISTEN_STROBES": 1,
        "LISTEN_ACTIVE_LOW": 0,
        "LISTEN_SETTLE_US": 0,
        "LISTEN_SILENT_TICKS": 1,
        "SHOE_COUNT": 2,
        "STAGE_ROWS": 3,
        "LADDER_ROWS": 0,
        "CONVERTER_BITS": 10,
        "CHANNEL_COUNT": 2,
        "REGISTER_COUNT": 4,
        "HOLD_SLOTS": 19,
        "COUNTER_PLANES": 5,
        "TICK_US": 500,
        "SPI_DIVIDER": 8,
        "BUS_KHZ": 100,
        "BUS_PERIOD_TICKS": 1,
        "POWER_ON_TICKS": 4000,
        "SHOE_INTERVAL_TICKS": 20,
        "RUNNING_STATUS": 1,
        "REPORT_HELD": 1,
        "MIDI_WIRE": 1,
        "MIDI_USB": 0,
        "LISTEN_STOPS": 0,
        "PANIC_PISTONS": 0,
        "PANIC_FIRST": 0,
        "PANIC_SECOND": 0,
        "JOB_DESCRIPTION_BYTES": len(table.job_description),
        "LINK": 1,
        "CAPTURE_LANES": 8,
        "REMAP_ROWS": 8,
    }


def test_runs_name_their_lanes_and_groups(table: Table) -> None:
    """A run says what it is read from, where, and the first register or row."""
    found = [(r.subject, r.source, r.where, r.first_lane, r.lane_count, r.group, r.first_place) for r in table.runs]
    assert found == [
        ("great", RunSource.CHAIN, 0, 0, 2, 0, 0),
        ("tabs", RunSource.CHAIN, 0, 2, 1, 2, 2),
        ("roller", RunSource.CHAIN, 0, 3, 1, 4, 3),
        ("pedal", RunSource.MATRIX, 0, 4, 3, 1, 0),
        ("pistons", RunSource.PORT, 10, 7, 1, 3, 0),
    ]


def test_groups_carry_debounce_duty_and_slots(table: Table) -> None:
    """Consecutive counts serve press and release alike; hold-off slots follow one another in first-edge groups."""
    great, pedal, tabs, pistons, roller = table.groups
    assert (great.family, great.hold_count, great.duty) == (Family.FIRST_EDGE, 11, Duty.NOTES)
    assert [(g.hold_first, g.hold_slots) for g in table.groups] == [(0, 10), (10, 9), (0, 0), (0, 0), (0, 0)]
    assert (pedal.press_count, pedal.release_count) == (0, 0)
    assert (tabs.family, tabs.press_count, tabs.release_count, tabs.duty) == (Family.COUNTED, 15, 15, Duty.STOPS)
    assert (pistons.press_count, pistons.release_count, pistons.duty) == (2, 20, Duty.PISTONS)
    assert (roller.duty, roller.shoe, roller.divider_log2, roller.phase) == (Duty.STAGES, 1, 2, 3)


def test_messages_stand_at_lane_times_eight_plus_bit(table: Table) -> None:
    """Rows are three bytes each way; what sends nothing, or is left out, is all zeros."""
    assert len(table.messages) == 64
    assert (table.messages[1].on, table.messages[1].off) == ((0x90, 37, 100), (0x80, 37, 64))
    assert (table.messages[16].on, table.messages[16].off) == ((0xB0, 20, 127), (0xB0, 20, 0))
    assert (table.messages[57].on, table.messages[57].off) == ((0xC4, 1, 0), (0, 0, 0))
    assert all(table.messages[row].on == (0, 0, 0) for row in (10, 15, 18, 24, 35))


def test_a_matrix_is_given_as_ports_and_masks(table: Table) -> None:
    """Pins 22 to 24 are A0 to A2 of the board (checked against the stock core's pin table with the catalogue)."""
    (matrix,) = table.matrices
    assert (matrix.column_port, matrix.row_port, matrix.row_mask, matrix.settle_us) == (2, (0, 0, 0), (1, 2, 4), 6)


def test_shoes_and_stages_refer_to_each_other(table: Table) -> None:
    """The potentiometer has a curve, the roller three stages at their contacts."""
    swell, roller = table.shoes
    assert (swell.kind, swell.converter, swell.status, swell.controller) == (ShoeKind.CONVERTER, 2, 0xB0, 11)
    assert (swell.curve_counts, swell.curve_values) == ((135, 888), (127, 0))
    assert (roller.kind, roller.stage_count, roller.first_stage, roller.controller) == (ShoeKind.PROGRESSIVE, 3, 0, 16)
    assert [stage.contact for stage in table.stages] == [24, 25, 26]


def test_channels_with_notes_are_silenced(table: Table) -> None:
    """Only channels that carry notes are listed, from 0, sorted; the pistons' program changes leave none sounding."""
    assert table.channels == (0, 2)


def test_times_are_rounded_up_to_whole_ticks() -> None:
    """A wait is never shorter than asked for."""
    job = bench_job({"wanted": {"power_on_wait_s": 0.0011, "shoe_interval_ms": 11}})
    sizes = build_table(bench_plan(job, tick_us=2000), board()).sizes
    assert (sizes.power_on_ticks, sizes.shoe_interval_ticks) == (1, 6)


def test_a_selective_shoe_is_told_apart() -> None:
    """A stepped shoe of the selective style is decoded as such."""
    groups = [g for g in JOB["groups"] if g["id"] not in ("shoes", "roller")]
    shoe = {"id": "swell", "sensor": "steps", "stages": 3, "style": "selective"}
    roller = {"id": "roller", "kind": "shoes", "division": "great", "points": [shoe]}
    plan = _with_stages_renamed(bench_job({"groups": [*groups, roller]}))
    (row,) = build_table(plan, board()).shoes
    assert (row.kind, row.stage_count) == (ShoeKind.SELECTIVE, 3)


def _with_stages_renamed(job: Any) -> ConversionPlan:
    plan = bench_plan(job)
    lanes = tuple(
        replace(lane, points=tuple(p and p.replace("roller.", "roller.swell.") for p in lane.points))
        for lane in plan.layout.lanes
    )
    return replace(plan, layout=replace(plan.layout, lanes=lanes))


def test_a_group_that_is_left_out_altogether_is_inert() -> None:
    """Lanes stay for a group without any point that takes part; its duty is a plain one and no shoe is asked for."""
    plan = bench_plan()
    points = tuple(p for p in plan.points if p.point.group != "roller")
    lanes = tuple(replace(lane, used=0) if lane.group == "roller" else lane for lane in plan.layout.lanes)
    table = build_table(replace(plan, points=points, layout=_anonymous(plan, lanes)), board())
    assert table.groups[4].duty is Duty.STOPS


def _anonymous(plan: ConversionPlan, lanes: tuple[Any, ...]) -> ScanLayout:
    nobody = tuple(replace(lane, points=(None,) * 8) if lane.group == "roller" else lane for lane in lanes)
    return replace(plan.layout, lanes=nobody)


def _change_point(plan: ConversionPlan, point_id: str, **changes: Any) -> ConversionPlan:
    points = tuple(replace(p, **changes) if p.point.id == point_id else p for p in plan.points)
    return replace(plan, points=points)


def _change_kind(plan: ConversionPlan, point_id: str, **changes: Any) -> ConversionPlan:
    (found,) = (p for p in plan.points if p.point.id == point_id)
    return _change_point(plan, point_id, point=replace(found.point, **changes))


def _change_group(plan: ConversionPlan, group_id: str, **changes: Any) -> ConversionPlan:
    groups = tuple(replace(g, **changes) if g.id == group_id else g for g in plan.groups)
    return replace(plan, groups=groups)


def _change_layout(plan: ConversionPlan, **changes: Any) -> ConversionPlan:
    return replace(plan, layout=replace(plan.layout, **changes))


def _without_shoe_message(point: PointPlan) -> PointPlan:
    return replace(point, shoe=None) if point.point.id == "roller" else point


PLAN = bench_plan()
PORT_X = replace(PLAN.layout.runs[4], where="X")
LONG = PointMessage(bytes((0x90, 1, 2, 3)), b"")
EIGHT_BIT = PointMessage(bytes((0x90, 200, 1)), b"")
SYSTEM = PointMessage(bytes((0xF0, 1)), b"")
NO_DATA = PointMessage(bytes((0xC0,)), b"")
LONG_COUNT = Debounce(DebounceFamily.ASYMMETRIC, press=2, release=64)
BAD = {
    "message too long": (_change_point(PLAN, "great.36", message=LONG), "great.36: the message is 90 01 02 03"),
    "message data of eight bits": (
        _change_point(PLAN, "great.36", message=EIGHT_BIT),
        "the message is 90 c8",
    ),
    "system message": (_change_point(PLAN, "great.36", message=SYSTEM), "great.36: the message is f0"),
    "message without data": (_change_point(PLAN, "great.36", message=NO_DATA), "great.36: the message is c0"),
    "no such port": (_change_layout(PLAN, runs=(*PLAN.layout.runs[:4], PORT_X)), "pistons: port X is asked for"),
    "no such pin": (
        _change_layout(PLAN, matrices=(MatrixLayout(1, ("99",), "C", 3, 5.0),)),
        "matrix 1: pin 99 is asked for",
    ),
    "settle too long": (
        _change_layout(PLAN, matrices=(MatrixLayout(1, ("22",), "C", 3, 255.1),)),
        "matrix 1: settle us is 256",
    ),
    "clock not a divider": (_change_layout(PLAN, spi_hz=3_000_000), "the chain: its clock is 3000000 Hz"),
    "phase beyond the period": (_change_group(PLAN, "tabs", phase=4), "tabs: it is sampled at phase 4"),
    "divider too large": (_change_group(PLAN, "tabs", divider_log2=7), "tabs: divider log2 is 7"),
    "no debounce": (_change_group(PLAN, "tabs", debounce=None), "tabs: no debounce is planned"),
    "count too long": (_change_group(PLAN, "tabs", debounce=LONG_COUNT), "tabs: release count is 64"),
    "kinds mixed": (_change_kind(PLAN, "tabs.vox", kind=PointKind.KEY), "tabs: its contacts are key, stop"),
    "two shoes in a group": (
        _change_kind(PLAN, "roller.2", stage_of="other"),
        "roller: it holds the stages of 2 shoes",
    ),
    "silent shoe": (
        replace(PLAN, points=tuple(map(_without_shoe_message, PLAN.points))),
        "roller: the shoe roller sends nothing",
    ),
    "stage without address": (
        _change_layout(PLAN, lanes=tuple(replace(lane, points=(None,) * 8) for lane in PLAN.layout.lanes)),
        "roller.1: it has no address",
    ),
    "one stage": (
        replace(PLAN, points=tuple(p for p in PLAN.points if p.point.id not in ("roller.2", "roller.3"))),
        "roller: it has one stage",
    ),
    "shoe without converter": (_change_point(PLAN, "shoes.swell", address=None), "shoes.swell: its address is None"),
    "shoe that does not move": (
        bench_plan(
            bench_job(
                {
                    "groups": [
                        *(g for g in JOB["groups"] if g["id"] != "shoes"),
                        {
                            "id": "shoes",
                            "kind": "shoes",
                            "division": "great",
                            "points": [
                                {
                                    "id": "swell",
                                    "sensor": "ldr",
                                    "closed_reading": 0.5,
                                    "open_reading": 0.5,
                                }
                            ],
                        },
                    ]
                }
            )
        ),
        "shoes.swell: two points of the travel read 512",
    ),
    "too many ticks": (
        bench_plan(bench_job({"wanted": {"power_on_wait_s": 30}}), tick_us=25),
        "the console: power on ticks is 1200000",
    ),
}


def test_the_longest_wait_and_interval_of_a_job_fit_the_shortest_tick() -> None:
    """Half a minute of silence and 200 ms between a shoe's messages can be written at a tick of 125 µs."""
    job = bench_job({"wanted": {"power_on_wait_s": 30, "shoe_interval_ms": 200}})
    sizes = build_table(bench_plan(job, tick_us=125), board()).sizes
    assert (sizes.power_on_ticks, sizes.shoe_interval_ticks) == (240_000, 1_600)


@pytest.mark.parametrize("fault", BAD)
def test_what_the_table_cannot_hold_is_refused_by_name(fault: str) -> None:
    """Each fault of a plan is refused with the group or point at fault, before anything is written."""
    plan, words = BAD[fault]
    with pytest.raises(TableError, match=words):
        build_table(plan, board())


def test_a_console_of_one_shoe_needs_no_lanes() -> None:
    """Without contacts there are no lanes, runs or groups, and the sizes say so."""
    table = build_table(shoe_only_plan(), board())
    assert (table.lanes, table.runs, table.groups, table.messages) == ((), (), (), ())
    assert (table.sizes.lane_count, table.sizes.shoe_count, table.sizes.counter_planes) == (0, 1, 1)


def shoe_only_plan() -> ConversionPlan:
    """Return the plan of a console that is one shoe."""
    layout = ScanLayout(lanes=(), runs=(), registers=0, spi_hz=None, converters=PLAN.layout.converters)
    points = tuple(p for p in PLAN.points if p.point.id == "shoes.swell")
    return replace(PLAN, points=points, layout=layout, groups=())


def test_runs_of_a_later_matrix_have_its_index() -> None:
    """A matrix is found by its number, whatever the order of the numbers."""
    first, second = MatrixLayout(7, ("30",), "L", 3, 5.0), PLAN.layout.matrices[0]
    plan = _change_layout(PLAN, matrices=(first, second))
    rows = [run.where for run in build_table(plan, board()).runs if run.source is RunSource.MATRIX]
    assert rows == [1]
    assert Run("pedal", Source.MATRIX, "1", 4, 3) in plan.layout.runs
