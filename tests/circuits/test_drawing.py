"""Drawings of sense circuits, read back wire by wire and held against the circuits as books draw them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.sense.design import Felt, Part, SenseDesign
from retrofit.circuits.sense.drawing import drawing
from retrofit.circuits.sense.line import Line
from retrofit.plan.build import plan_conversion
from retrofit.plan.sensing.model import GroupSensing
from retrofit.survey.load import load_job
from tests.circuits.drawn import netlist, parts

ROOT = Path(__file__).parents[2]
JOBS = (*sorted((ROOT / "tests/plan/awkward").glob("*.toml")), *sorted((ROOT / "retrofit/demo").glob("*.toml")))
WIDEST = 76
"""Columns that the text screens have beside their frame."""


def sensed(name: str, group: str) -> GroupSensing:
    """Return how a group of one of the invented consoles is sensed."""
    path = next(path for path in JOBS if path.stem == name)
    plan = plan_conversion(load_job(path), load_catalogue())
    return next(one for one in plan.sensing if one.group == group)


def drawn(name: str, group: str, circuit: str) -> tuple[str, ...]:
    """Return the drawing of one circuit of a group, chosen or not."""
    found = sensed(name, group)
    design = next(one for one in (*found.ranked, *found.refused) if one.circuit.startswith(circuit))
    return drawing(design, found.line)


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_every_circuit_with_values_is_drawn_whole(path: Path) -> None:
    """Each circuit that a plan works out has a drawing of every part, no wire of which leads nowhere, and it fits."""
    plan = plan_conversion(load_job(path), load_catalogue())
    worked_out = [(d, s.line) for s in plan.sensing for d in (*s.ranked, *s.refused) if d.parts]
    assert worked_out
    for design, line in worked_out:
        lines = drawing(design, line)
        two_ended = [part for part in design.parts if "comparator" not in part.kind]
        assert len(list(parts(lines))) >= len({part.role for part in two_ended}), design.circuit
        assert max(map(len, lines)) <= WIDEST, design.circuit


def test_the_divider_is_a_series_resistor_and_one_to_ground() -> None:
    """Line, resistor, input, resistor, ground: the loaded voltage divider of any textbook (from memory)."""
    assert netlist(drawn("theatre", "accompaniment", "high-impedance divider")) == {
        ("1.5 MΩ", frozenset(("line", "input"))),
        ("1.3 MΩ", frozenset(("input", "our ground"))),
    }


def test_contacts_of_ours_are_pulled_the_other_way() -> None:
    """A pull-up goes to the supply and its contact to ground; a pull-down the other way round."""
    assert netlist(drawn("gutted_home", "upper", "contact with pull-up")) == {
        ("10 kΩ", frozenset(("our supply", "input"))),
        ("contact", frozenset(("input", "our ground"))),
    }
    assert netlist(drawn("gutted_home", "upper", "contact with pull-down")) == {
        ("contact", frozenset(("our supply", "input"))),
        ("10 kΩ", frozenset(("input", "our ground"))),
    }


def test_the_comparator_is_fed_back_to_its_threshold() -> None:
    """Tap on the inverting input, threshold from the supply on the other, hysteresis from the output (from memory)."""
    found = netlist(drawn("theatre", "accompaniment", "comparator"))

    assert ("20 kΩ", frozenset(("our supply", "comparator +"))) in found
    assert ("20 kΩ", frozenset(("comparator +", "our ground"))) in found
    assert ("1 MΩ", frozenset(("comparator +", "comparator out"))) in found
    assert ("10 kΩ", frozenset(("our supply", "comparator out = input"))) in found
    assert ("1 MΩ", frozenset(("line", "comparator −"))) in found


def test_the_clamps_conduct_only_beyond_ground_and_supply() -> None:
    """The banded end (cathode) of one is at the input, of the other at the supply: neither conducts in between."""
    clamps = [part for part in parts(drawn("theatre", "accompaniment", "comparator")) if "silicon" in part[0]]

    assert clamps == [
        ("|< silicon diode", "comparator −", "our ground"),
        (">| silicon diode", "comparator −", "our supply"),
    ]


@pytest.mark.parametrize(
    ("name", "group", "led", "turned"),
    [("theatre", "solo", ">|", "|<"), ("positive_ground", "great", "|<", ">|")],
)
def test_the_led_lies_the_way_the_current_flows(name: str, group: str, led: str, turned: str) -> None:
    """From a positive line to the return, or from the return to a negative line; the diode across it the other way."""
    found = {part.split()[0]: (part, left, right) for part, left, right in parts(drawn(name, group, "optocoupler"))}
    anode_to_cathode, back = found[led], found[turned]

    assert anode_to_cathode[0].endswith("LED of PC817")
    assert back[0].endswith("diode 1N4148")
    assert anode_to_cathode[1:] == back[1:]
    assert anode_to_cathode[2] == "the organ's return"


def test_no_wire_leads_across_the_isolator() -> None:
    """Line and return on one side, our supply, ground and input on the other, and no node in common."""
    found = list(parts(drawn("theatre", "other-tabs", "optocoupler")))
    output = next(place for place, part in enumerate(found) if part[1] == "our supply")
    theirs = {node for part in found[:output] for node in part[1:]}
    ours = {node for part in found[output:] for node in part[1:]}

    assert "line" in theirs
    assert "the organ's return" in theirs
    assert ours == {"our supply", "input", "our ground"}
    assert not theirs & ours


def test_the_threshold_diode_is_crossed_backwards() -> None:
    """A zener in series holds the current off until it breaks through: its banded end is on the line's plus."""
    zener = next(part for part in parts(drawn("theatre", "other-tabs", "optocoupler")) if "6.2 V" in part[0])

    assert zener[0] == "|< 6.2 V"


def test_a_coupler_for_both_ways_has_its_zeners_end_to_end() -> None:
    """Where the driving line takes either sign the LEDs take both, and the banded ends of two zeners meet."""
    roles = (
        Part("in series with the line", "resistor", 4.7e3, "Ω", 0.05),
        Part("in series with the LED, banded ends together", "zener diode two of 5.1 V", 5.8, "V", 0.05),
        Part("isolator", "optocoupler TLP290", 1, "piece", 0.0),
        Part("from the output to the logic supply", "resistor", 47e3, "Ω", 0.05),
    )
    coupler = next(one for one in sensed("theatre", "solo").ranked if one.circuit.startswith("optocoupler"))
    line = sensed("theatre", "solo").line
    lines = drawing(replace(coupler, parts=roles), line)

    assert "[>| |< 5.8 V]──[LEDs both ways of TLP290]── the organ's return" in lines[0]


def test_a_key_of_the_matrix_feeds_its_row_through_its_diode() -> None:
    """The column is held high; the key leads to the diode, whose banded end is towards the row."""
    chain = list(parts(drawn("gutted_home", "lower", "diode matrix")))

    assert chain[0] == ("10 kΩ", "our supply", "pin of the column")
    assert chain[1][:2] == ("key", "pin of the column")
    assert chain[2] == (">| diode 1N4148", chain[1][2], "pin of the row")


def test_a_drawing_that_would_leave_a_part_out_is_none() -> None:
    """A circuit with a part in a place that the drawing does not know is not drawn at all."""
    found = sensed("gutted_home", "upper")
    assert found.chosen is not None
    strange = Part("somewhere else", "resistor", 1e3, "Ω", 0.05)

    assert drawing(found.chosen, found.line)
    assert drawing(replace(found.chosen, parts=(*found.chosen.parts, strange)), found.line) == ()


def test_a_circuit_without_values_is_not_drawn() -> None:
    """Nothing is drawn of a circuit whose parts are not chosen yet, nor of one that nobody knows."""
    nothing_felt = Felt(None, None, None, None, None, None)
    empty = SenseDesign("high-impedance divider", True, None, (), (), nothing_felt)
    line: Line = sensed("theatre", "solo").line
    resistor = Part("in series with the line", "resistor", 1e3, "Ω", 0.01)

    assert drawing(empty, line) == ()
    assert drawing(replace(empty, circuit="another way", parts=(resistor,)), line) == ()
