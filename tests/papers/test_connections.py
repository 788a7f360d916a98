"""The connections of the bench console and of both demo consoles, as a spreadsheet and as pages."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from importlib.resources import files

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.sense.design import Part, SenseDesign
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.tap_choice import NOT_FELT
from retrofit.papers.connections import COLUMNS, connections_csv, connections_text, to_fit_words
from retrofit.papers.csv_text import csv_records
from retrofit.papers.pages import LINES, WIDTH
from retrofit.papers.text_cells import cells_of
from retrofit.papers.wiring_schedule import wiring_schedule_csv
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.plan.sensing.model import GroupSensing
from retrofit.scan.layout import ScanLayout, Source
from retrofit.survey.instrument import MidiOut
from tests.emulator.random_jobs import random_job
from tests.plan.jobs import job_of
from tests.writer.plans import NASTY_NAME, bench_job, bench_plan

BENCH = bench_plan()
PULL_UP = Part("from the line to the logic supply", "resistor", 10e3, "Ω", 0.05)
DUAL = Part("between the tap and the input", "comparator", 0.5, "pieces", 0.0)


def demo_plan(name: str) -> ConversionPlan:
    """Return the plan of a demo job."""
    return plan_conversion(job_of(files("retrofit.demo").joinpath(name).read_text(encoding="utf-8")), load_catalogue())


DEMOS = {name: demo_plan(name) for name in ("gutted_home.toml", "theatre.toml")}
GUTTED = DEMOS["gutted_home.toml"]


def at(plan: ConversionPlan) -> dict[tuple[str, str], dict[str, str]]:
    """Return the rows by place and pin, of those that have a pin."""
    return {(row["at"], row["pin"]): row for row in csv_records(connections_csv(plan)) if row["pin"]}


@pytest.mark.parametrize("plan", [BENCH, *DEMOS.values()], ids=["bench", *DEMOS])
def test_every_register_is_connected_on_all_pins_but_one(plan: ConversionPlan) -> None:
    """Of 16 pins all but 7, the complement of the output, go somewhere, once (TI SCLS116 pin configuration; memory)."""
    pins: dict[str, list[int]] = {}
    for row in csv_records(connections_csv(plan)):
        if row["at"].startswith("register"):
            pins.setdefault(row["at"], []).append(int(row["pin"]))
    assert list(pins) == [f"register {number}" for number in range(plan.layout.registers)]
    assert {tuple(sorted(found)) for found in pins.values()} == {(*range(1, 7), *range(8, 17))}


@pytest.mark.parametrize("plan", [BENCH, *DEMOS.values()], ids=["bench", *DEMOS])
def test_the_chain_can_be_followed_from_its_end_to_the_board(plan: ConversionPlan) -> None:
    """From the last register, whose serial input rests, each output meets the next input, and the last one the board.

    Serial output QH is pin 9 and serial input SER pin 10 (Texas Instruments SCLS116, pin configuration; from memory).
    """
    rows, last = at(plan), plan.layout.registers - 1
    assert rows[f"register {last}", "10"]["goes to"] == "our return: the last one"
    for number in range(last, 0, -1):
        assert rows[f"register {number}", "9"]["goes to"] == f"register {number - 1} pin 10"
        assert rows[f"register {number - 1}", "10"]["goes to"] == f"register {number} pin 9"
    assert rows["register 0", "9"]["goes to"] == "board pin 50"
    assert rows["board", "50"]["goes to"] == "pin 9 of register 0"


@pytest.mark.parametrize(
    ("place", "pin", "to", "through"),
    [
        ("board", "53", "pin 1 of every register", ""),
        ("board", "52", "pin 2 of every register", ""),
        ("register 14", "1", "board pin 53", ""),
        ("register 14", "2", "board pin 52", ""),
        ("register 14", "15", "our return", ""),
        ("register 14", "8", "our return", ""),
        ("register 14", "16", "our supply", "capacitor 100 nF, pin 8"),
        ("register 0", "11", "upper.36 C2", "resistor 10 kΩ from the line to the logic supply"),
        ("register 0", "6", "upper.43 G2", "resistor 10 kΩ from the line to the logic supply"),
        ("register 7", "6", "no contact: our return", ""),
        ("board", "18", "MIDI socket pin 5", "resistor 220 Ω"),
        ("MIDI socket", "4", "our supply", "resistor 220 Ω"),
        ("MIDI socket", "2", "our return, at this end of the cable alone", ""),
        ("board", "2", "lower.36 C2 to lower.43 G2", ""),
        ("board", "22", "lower.36 C2 and 7 more, one of each row", "resistor 10 kΩ from each column to our supply"),
        ("board", "29", "lower.43 G2 and 6 more, one of each row", "resistor 10 kΩ from each column to our supply"),
        ("board", "A15", "pistons.cancel Cancel", "resistor 10 kΩ from the line to the logic supply"),
        ("board", "A0", "shoe.swell Swell", "wiper to the pin, ends to our supply and our return"),
    ],
)
def test_pins_of_the_gutted_console(place: str, pin: str, to: str, through: str) -> None:
    """Worked out by hand: load, clock, data, socket (IEC 63035, 5-pin DIN), matrix 8 x 8 from note 36, pins A8 to A15.

    The 220 Ω of a 5 V transmitter are quoted from MIDI 1.0; 100 nF a register is common practice, no source.
    """
    row = at(GUTTED)[place, pin]
    assert (row["goes to"], row["through"]) == (to, through)


def test_commons_go_where_the_circuit_wants_them() -> None:
    """Contacts with pull-ups have each common on our return; taps measure against the organ's return at one point."""
    ours = [row for row in csv_records(connections_csv(GUTTED)) if row["at"] == "contacts"]
    assert {row["group"]: row["goes to"] for row in ours} == dict.fromkeys(
        ("upper", "pedal", "tabs", "pistons"), "our return"
    )
    assert [row["wire as found"] for row in ours if row["group"] == "upper"] == [
        "upper: Upper bus, bass, contacts 1 to 36",
        "upper: Upper bus, treble, contacts 37 to 61",
    ]
    theatre = csv_records(connections_csv(DEMOS["theatre.toml"]))
    (joined,) = [row for row in theatre if row["at"] == "organ"]
    assert joined["goes to"] == "our return: one wire, at one point"


def test_a_pull_down_has_its_common_on_our_supply() -> None:
    """A contact with a pull-down feeds the line from our supply."""
    design = SenseDesign("contact with pull-down", False, True, (), (), NOT_FELT)
    plan = bench_plan(sensing=(GroupSensing("tabs", Line(None, None, ours=True), None, design, (), ()),))
    (common,) = [row for row in csv_records(connections_csv(plan)) if row["at"] == "contacts"]
    assert (common["goes to"], common["wire as found"]) == ("our supply", "tabs: all contacts")


def test_the_count_is_that_of_the_rows() -> None:
    """Registers and their capacitors, and a resistor for each input and column of the rows, are what is counted."""
    rows = csv_records(connections_csv(GUTTED))
    through = Counter(words for row in rows if (words := " ".join(row["through"].split(",")[0].split()[:3])))
    assert to_fit_words(
        GUTTED
    ) == "15 x 74HC165; 15 x capacitor 100 nF; 3 x capacitor 10 µF; 125 x resistor 10 kΩ; " + ("2 x resistor 220 Ω")
    assert through["resistor 10 kΩ"] == 61 + 25 + 23 + 8 + 8 == 125
    assert (through["capacitor 100 nF"], through["capacitor 10 µF"], through["resistor 220 Ω"]) == (15, 3, 2)


def test_parts_that_serve_two_inputs_are_rounded_up() -> None:
    """Three inputs with half a dual comparator each need two; inputs without values are counted apart."""
    dual = SenseDesign("comparator", True, False, (DUAL, PULL_UP), (), NOT_FELT)
    bare = replace(dual, parts=())
    line = Line(None, None)
    sensing = (GroupSensing("roller", line, None, dual, (), ()), GroupSensing("tabs", line, None, bare, (), ()))
    assert to_fit_words(bench_plan(sensing=sensing)) == (
        "4 x 74HC165; 4 x capacitor 100 nF; 3 x capacitor 10 µF; 2 x comparator; 3 x resistor 10 kΩ; "
        "2 x resistor 220 Ω; and the parts of 2 inputs whose values are not known yet"
    )


def test_no_register_means_no_chain() -> None:
    """A console on direct pins alone has no chain, no supply branches and nothing of them in the count."""
    lane = next(lane for lane in BENCH.layout.lanes if lane.source is Source.PORT)
    plan = replace(BENCH, layout=ScanLayout((lane,), (), 0, None))
    assert to_fit_words(plan) == "2 x resistor 220 Ω"
    assert {row["at"] for row in csv_records(connections_csv(plan))} == {"board", "MIDI socket"}
    assert "CHAIN" not in connections_text(plan)


def test_midi_over_usb_has_no_socket() -> None:
    """Without DIN MIDI neither the socket nor its resistors are there."""
    wanted = BENCH.job.wanted.model_copy(update={"midi_out": MidiOut.USB})
    plan = bench_plan(bench_job().model_copy(update={"wanted": wanted}))
    assert "MIDI" not in connections_text(plan)
    assert "220 Ω" not in to_fit_words(plan)


@pytest.mark.parametrize("plan", [BENCH, *DEMOS.values()], ids=["bench", *DEMOS])
def test_pages_fit_and_hold_every_row(plan: ConversionPlan) -> None:
    """Lines have at most 80 columns and print; pages have 60 lines and the digest; each row has its two ticks."""
    text = connections_text(plan)
    lines = text.splitlines()
    assert max(map(cells_of, lines)) <= WIDTH
    assert all(line.isprintable() for line in lines)
    heads = [lines[start : start + 2] for start in range(0, len(lines), LINES)]
    assert all(first.startswith("CONNECTIONS") and second.endswith(plan.digest) for first, second in heads)
    assert text.count("[ ] [ ]") == len(csv_records(connections_csv(plan)))
    assert text == connections_text(plan)


@pytest.mark.parametrize("seed", range(8))
def test_both_papers_bring_every_wire_to_the_same_pin(seed: int) -> None:
    """On consoles drawn by chance each line but those of a matrix has one row, on the pin that the schedule names."""
    plan = plan_conversion(random_job(seed), load_catalogue())
    scheduled = {
        record["point"]: record["connector"].replace(" pin", "").removeprefix("pin ")
        for record in csv_records(wiring_schedule_csv(plan))
        if record["line"] and not record["board address"].startswith("matrix") and "same line" not in record["remarks"]
    }
    connected = [row for row in csv_records(connections_csv(plan)) if row["point"]]
    ends = [(row["point"], f"{row['at']} {row['pin']}".removeprefix("board ")) for row in connected]
    taking_part = {point.point.id for point in plan.points if point.point.takes_part}
    assert sorted(ends) == sorted((point, end) for point, end in scheduled.items() if point in taking_part)
    assert ends or plan.layout.matrices


def test_a_register_is_not_torn_by_the_end_of_a_page() -> None:
    """Every register has its 15 pins and its heading on one page."""
    lines = connections_text(GUTTED).splitlines()
    for number in range(GUTTED.layout.registers):
        (page,) = [n // LINES for n, line in enumerate(lines) if re.match(rf"REGISTER {number}\b", line)]
        start = next(n for n, line in enumerate(lines) if re.match(rf"REGISTER {number}\b", line))
        end = next(n for n, line in enumerate(lines) if n > start and re.match(r"\[ \] \[ \] 16 ", line))
        assert end // LINES == page
        assert sum(line.startswith("[ ]") for line in lines[start : end + 1]) == 15


def test_names_are_escaped_and_formulas_guarded() -> None:
    """A hostile name prints as visible signs on the page and stays as typed in the spreadsheet."""
    (vox,) = [row for row in csv_records(connections_csv(BENCH)) if row["point"] == "tabs.vox"]
    assert vox["goes to"] == f"tabs.vox {NASTY_NAME}"
    assert NASTY_NAME not in connections_text(BENCH)
    assert tuple(csv_records(connections_csv(BENCH))[0]) == COLUMNS


@pytest.mark.parametrize("plan", [BENCH, *DEMOS.values()], ids=["bench", *DEMOS])
def test_the_papers_at_the_bench_say_what_coils_need(plan: ConversionPlan) -> None:
    """That no coil is driven, time limit, diode, fuse, smell and who may do it; common practice, no source."""
    pages = " ".join(connections_text(plan).split())
    for paper in (pages, connections_csv(plan), wiring_schedule_csv(plan)):
        assert "no coil is driven by this board" in paper
        for words in (
            "each pulse in hardware",
            "diode across every coil",
            "fuse of its own",
            "smells",
            "licensed people",
        ):
            assert words in paper
