"""The wiring schedule of the bench console."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.circuits.sense.design import Part, SenseDesign
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.tap_choice import NOT_FELT
from retrofit.papers.csv_text import csv_records
from retrofit.papers.inputs import INPUT_LETTERS, input_pin
from retrofit.papers.wiring_schedule import COLUMNS, wiring_schedule_csv
from retrofit.plan.model import ConversionPlan
from retrofit.plan.sensing.model import GroupSensing
from retrofit.scan.addresses import ConverterAddress
from tests.writer.plans import JOB, NASTY_NAME, bench_job, bench_plan

PLAN = bench_plan()
RECORDS = csv_records(wiring_schedule_csv(PLAN))
BY_POINT = {record["point"]: record for record in RECORDS}


def test_every_point_has_one_row() -> None:
    """A row per point but none twice: wired ones, twins, left out ones, and shoes worked out from stages."""
    assert sorted(BY_POINT) == sorted(point.point.id for point in PLAN.points)
    assert len(RECORDS) == len(PLAN.points)


def test_lines_are_numbered_in_the_order_of_reading() -> None:
    """The chain comes first, then the matrix, the pins and the converters; points without an address have no number."""
    numbers = [int(record["line"]) for record in RECORDS if record["line"]]
    assert numbers == sorted(numbers)
    assert set(numbers) == set(range(1, 28))
    ordered = [
        BY_POINT[p]["line"] for p in ("great.36", "great.45", "tabs.vox", "pedal.36", "pistons.p2", "shoes.swell")
    ]
    assert ordered == ["1", "10", "11", "16", "26", "27"]
    assert [record["point"] for record in RECORDS if not record["line"]] == ["tabs.gap", "roller"]


def test_twins_stand_under_the_line_they_share() -> None:
    """A stud wired to a piston has its number and address, and says so."""
    places = [record["point"] for record in RECORDS]
    assert places.index("studs.s1") == places.index("pistons.p1") + 1
    stud, piston = BY_POINT["studs.s1"], BY_POINT["pistons.p1"]
    same = ("line", "board address", "input", "connector", "level when on")
    assert [stud[column] for column in same] == [piston[column] for column in same]
    assert stud["remarks"] == "same line as pistons.p1; one wire"


def test_what_was_found_stays_beside_the_point() -> None:
    """Tags, colours, readings as typed, conditions and dated notes are copied word for word."""
    key = BY_POINT["great.37"]
    found = [key[column] for column in ("from strip", "from tag", "wire colour", "condition")]
    assert found == ["A", "2", "red", "dead"]
    assert (key["idle as found"], key["keyed as found"]) == ("0,1 V", "-12")
    assert BY_POINT["pedal.36"]["idle as found"] == "unknown"
    assert BY_POINT["pistons.p1"]["remarks"] == "2026-02-01 RB: worn"
    assert (BY_POINT["tabs.vox"]["name"], BY_POINT["tabs.flute"]["name"]) == (NASTY_NAME, "=Flûte")


@pytest.mark.parametrize(
    ("point", "address", "name", "connector"),
    [
        ("great.41", "chain register 0 bit 5", "F", "register 0 pin 4"),
        ("pedal.40", "matrix 1 row 1 column 1", "row 1 column 1", "row pin 23, column pin 36"),
        ("pistons.p2", "pin 48 (L1)", "L1", "pin 48"),
        ("shoes.swell", "converter 2", "converter 2", "pin A2"),
    ],
)
def test_each_kind_of_address_is_told_by_its_pins(point: str, address: str, name: str, connector: str) -> None:
    """A wire's end is named as on the chip or the board."""
    record = BY_POINT[point]
    assert (record["board address"], record["input"], record["connector"]) == (address, name, connector)


def test_inputs_of_the_register_have_pins_of_their_own() -> None:
    """Eight inputs, none on a pin that the 16-pin 74HC165 uses otherwise.

    1 load, 2 and 15 clocks, 7 and 9 outputs, 8 and 16 supply, 10 serial input (Texas Instruments SCLS116; from memory).
    """
    pins = [input_pin(bit) for bit in range(len(INPUT_LETTERS))]
    assert len(set(pins)) == len(pins)
    assert set(pins) == set(range(1, 17)) - {1, 2, 7, 8, 9, 10, 15, 16}


@pytest.mark.parametrize(
    ("point", "off", "on"),
    [
        ("great.36", "high", "low"),
        ("tabs.vox", "low", "high"),
        ("tabs.flute", "high", "low"),
        ("shoes.swell", "0.9 of full scale", "0.1 of full scale"),
        ("tabs.gap", "", ""),
    ],
)
def test_levels_are_those_that_the_board_will_read(point: str, off: str, on: str) -> None:
    """An input that is reversed in the table reads low when the control is on."""
    assert (BY_POINT[point]["level when off"], BY_POINT[point]["level when on"]) == (off, on)


def test_an_unmeasured_shoe_stays_unknown() -> None:
    """Ends that were not read are not given a typical value."""
    groups = [g | {"points": [{"id": "swell", "sensor": "ldr"}]} if g["id"] == "shoes" else g for g in JOB["groups"]]
    records = csv_records(wiring_schedule_csv(bench_plan(bench_job({"groups": groups}))))
    (shoe,) = [record for record in records if record["point"] == "shoes.swell"]
    assert (shoe["level when off"], shoe["level when on"]) == ("unknown", "unknown")


def test_keys_are_counted_from_the_bottom() -> None:
    """The lowest key is 1 and a missing one leaves no gap; every contact of a key has its number; a tab has none."""
    compass = {"lowest": 36, "count": 10, "missing": [37]}
    contacts = [{"id": "first"}, {"id": "second", "lowest": 40}]
    keys = {"id": "great", "kind": "manual", "division": "great", "compass": compass, "contacts": contacts}
    groups = [keys if group["id"] == "great" else group for group in JOB["groups"]]
    records = csv_records(wiring_schedule_csv(bench_plan(bench_job({"groups": groups}))))
    found = {record["point"]: record["key"] for record in records}
    assert [found[p] for p in ("great.36", "great.38", "great.45", "tabs.vox")] == ["1", "2", "9", ""]
    assert found["great.40.second"] == found["great.40"] == "4"


def _sensed(group: str, design: SenseDesign | None) -> GroupSensing:
    return GroupSensing(group, Line(None, None), None, design, (), ())


def test_circuits_stand_with_their_values() -> None:
    """The parts are counted with value and place; a circuit whose values are not known says so."""
    parts = (Part("in series", "resistor", 1.5e6, "Ω", 0.01), Part("to ground", "resistor", 4700.0, "Ω", 0.01))
    design = SenseDesign("divider", True, False, (parts[0], *parts), (), NOT_FELT)
    bare = replace(design, parts=())
    plan = bench_plan(sensing=(_sensed("great", design), _sensed("tabs", bare)))
    records = {record["point"]: record for record in csv_records(wiring_schedule_csv(plan))}
    assert records["great.36"]["circuit values"] == "2 x resistor 1.5 MΩ in series; resistor 4.7 kΩ to ground"
    assert records["tabs.vox"]["circuit values"].startswith("values not known yet")
    assert records["pedal.36"]["circuit values"] == ""


@pytest.mark.parametrize(
    ("keyed_high", "key", "tab_closed_at_rest"),
    [
        (False, "", ""),
        (True, "this circuit reads high when on", "this circuit reads low when on"),
        (None, "no circuit is worked out", "no circuit is worked out"),
    ],
)
def test_levels_that_the_circuit_does_not_give_are_told(
    keyed_high: bool | None, key: str, tab_closed_at_rest: str
) -> None:
    """Levels of the table that disagree with the chosen circuit, or are not settled by it, carry a remark."""
    design = SenseDesign("divider", True, keyed_high, (), (), NOT_FELT)
    plan = bench_plan(sensing=(_sensed("great", design), _sensed("tabs", design)))
    records = {record["point"]: record for record in csv_records(wiring_schedule_csv(plan))}
    for point, words in (("great.36", key), ("tabs.vox", tab_closed_at_rest)):
        remark = records[point]["remarks"]
        assert words in remark
        assert ("levels as the job states them" in remark) is bool(words)


def test_ticks_stand_at_the_left() -> None:
    """The places to tick are beside the number of the line, where a ruler reaches them."""
    assert COLUMNS[:5] == ("line", "built", "tested", "key", "point")


def test_points_that_found_no_place_are_not_dropped() -> None:
    """A point without an address, and a twin of such a point, come last and say so."""
    records = csv_records(wiring_schedule_csv(_without_address(PLAN, "pistons.p1")))
    last = {record["point"]: record for record in records[-5:] if not record["line"]}
    assert last["pistons.p1"]["remarks"].startswith("has no address")
    assert "has no address" in last["studs.s1"]["remarks"]
    assert "worked out from its stages" in last["roller"]["remarks"]
    assert len(records) == len(PLAN.points)


def _without_address(plan: ConversionPlan, point_id: str) -> ConversionPlan:
    points = tuple(replace(p, address=None) if p.point.id == point_id else p for p in plan.points)
    return replace(plan, points=points)


def test_converters_are_in_the_order_of_their_channels() -> None:
    """Several shoes follow each other by channel, not by their order in the job."""
    shoes = [{"id": "a", "sensor": "ldr"}, {"id": "b", "sensor": "ldr"}]
    groups = [g | {"points": shoes} if g["id"] == "shoes" else g for g in JOB["groups"]]
    plan = bench_plan(bench_job({"groups": groups}))
    channels = {"shoes.a": ConverterAddress(11), "shoes.b": ConverterAddress(3)}
    points = tuple(replace(p, address=channels.get(p.point.id, p.address)) for p in plan.points)
    records = csv_records(wiring_schedule_csv(replace(plan, points=points)))
    assert [r["point"] for r in records if r["point"] in channels] == ["shoes.b", "shoes.a"]


def test_the_schedule_says_which_plan_it_is_of_and_warns() -> None:
    """Job, digest, board and cautions stand above the column names; two calls give the same text."""
    text = wiring_schedule_csv(PLAN)
    head = text.split("line,built")[0]
    for words in ("# job,Bench console", "# digest,0123456789abcdef", "# caution", "low-voltage", "unplug"):
        assert words in head
    assert text == wiring_schedule_csv(bench_plan())
    assert tuple(RECORDS[0]) == COLUMNS
    assert {record["built"] + record["tested"] for record in RECORDS} == {""}
