"""What the stand-in's inputs read, against the volts of an independent nodal analysis."""

from __future__ import annotations

from random import Random

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.standin.circuit import Circuit
from retrofit.rehearsal.standin.faults.grammar import parse_fault, random_fault
from retrofit.rehearsal.standin.faults.names import Names
from retrofit.rehearsal.standin.from_plan import wiring_of
from retrofit.rehearsal.standin.wiring import RETURN, SUPPLY, Contact, Diode, LaneInputs, Place, Wiring
from tests.rehearsal.standin.consoles import HEAD, keys, manual, places, plan_of
from tests.rehearsal.standin.nodal import Network

READ_THROUGH = 2
"""Diodes in a row: two drop about 1.25 to 1.5 V, three about 1.9 V."""
LOW_VOLTS = 1.5
"""VIL of an ATmega2560 at 5 V, 0.3 of the supply (Atmel 2549, table 31-1)."""
METAL_FAULTS = (
    "cut wire",
    "cut return",
    "join",
    "ground wire",
    "swap wires",
    "shift wires",
    "mirror wires",
    "turn connector",
    "swap connectors",
    "shift connector",
    "exchange rows and columns",
    "dead contact",
    "stuck contact",
    "short diode",
    "reverse diode",
    "open diode",
    "bridge diodes",
    "reverse diodes",
)
DRIVEN = ', matrix_drive = "push-pull", matrix_columns = 4'
LEAST_SUPPLY_VOLTS = 4.9
"""Below it a held key shorts our supply, and nothing is decided."""
SUPPLIED = ', sense = "pull-down"'
MATRIX = HEAD % "" + keys("great", 13, "matrix", diodes="silicon", wanted=", matrix_columns = 4")
HIGH_VOLTS = {"driven rows": 3.0}
"""Where rows fight, only a true high counts: VIH of an ATmega2560 at 5 V (same table).  Elsewhere diodes decide."""
DIODES_VOLTS = 1.75
CONSOLES = {
    "floating rows": MATRIX,
    "driven rows": HEAD % "" + keys("great", 13, "matrix", diodes="silicon", wanted=DRIVEN),
    "to our return": HEAD % "" + keys("great", 13) + keys("swell", 10),
    "to our supply": HEAD % "" + keys("great", 13, wanted=SUPPLIED) + keys("swell", 10, wanted=SUPPLIED),
    "both": MATRIX + keys("swell", 10),
}


def wiring(plan: ConversionPlan) -> Wiring:
    """Return the sound wiring, read through two diodes."""
    return wiring_of(plan, load_catalogue(), READ_THROUGH)


def spoilt(plan: ConversionPlan, random: Random) -> Wiring:
    """Return the wiring with up to three random faults."""
    found = wiring(plan)
    names = Names(plan, found.wires)
    for kind in random.sample(METAL_FAULTS, random.randint(0, 3)):
        fault = random_fault(kind, names, random)
        if fault is not None:
            fault.spoil(found)
    return found


def read(found: Wiring, closed: set[int]) -> tuple[dict[Place, bool], bool]:
    """Return the level at each place with contacts closed, and whether the board has power at all."""
    circuit = Circuit(found)
    for number in closed:
        circuit.contact(number, True)
    return circuit.at, not circuit.powerless


def differences(found: Wiring, closed: set[int], high_volts: float) -> tuple[int, list[str]]:
    """Return how many levels the volts decide, and those that the circuit reads otherwise."""
    levels, powered = read(found, closed)
    if not powered:
        return 0, []
    decided, wrong = 0, []
    for number, lane in enumerate(found.lanes):
        *inputs, supply = Network(found, closed, lane).volts((*lane.nodes, SUPPLY))
        if supply < LEAST_SUPPLY_VOLTS:
            continue
        for bit, volts in enumerate(inputs):
            if LOW_VOLTS < volts < high_volts:
                continue
            decided += 1
            if (volts >= high_volts) != levels[Place(number, bit)]:
                wrong.append(f"lane {number} bit {bit}: {volts:.2f} V")
    return decided, wrong


@pytest.mark.parametrize("console", CONSOLES)
def test_levels_are_those_of_the_volts(console: str) -> None:
    """Sound or spoilt, with any contacts held, an input reads what its volts are."""
    plan, random = plan_of(CONSOLES[console]), Random(5)
    decided = 0
    for _ in range(12):
        found = spoilt(plan, random)
        follow = range(len(found.contacts))
        closed = set(random.sample(follow, random.randint(0, 6)))
        count, wrong = differences(found, closed, HIGH_VOLTS.get(console, DIODES_VOLTS))
        assert wrong == []
        decided += count
    assert decided > 200


@pytest.mark.parametrize("fault", ["short diode", "reverse diode", "open diode", "bridge diodes"])
@pytest.mark.parametrize("console", ["floating rows", "driven rows"])
def test_chords_of_three_read_what_the_volts_are(console: str, fault: str) -> None:
    """Three corners of a rectangle with a faulty diode at the first: the ghost, or what drops out, is in the volts."""
    plan = plan_of(CONSOLES[console])
    for corner in (0, 5, 8):
        found = wiring(plan)
        place = "great" if fault == "bridge diodes" else f"great {36 + corner}"
        parse_fault(f"{fault} {place}", Names(plan, found.wires)).spoil(found)
        held = {f"great.{36 + key}" for key in (corner, corner ^ 4, corner ^ 1)}
        closed = {number for number, contact in enumerate(found.contacts) if contact.point in held}
        assert len(closed) == 3
        decided, wrong = differences(found, closed, HIGH_VOLTS.get(console, DIODES_VOLTS))
        assert (decided > 20, wrong) == (True, [])


@pytest.mark.parametrize(("most_drops", "ghosts"), [(1, False), (2, True), (3, True)])
def test_a_ghost_is_read_through_as_many_diodes_as_the_board_reads(most_drops: int, ghosts: bool) -> None:
    """A shorted diode's ghost lies behind two sound ones: a board that reads through one alone does not see it."""
    plan = plan_of(MATRIX)
    found = wiring_of(plan, load_catalogue(), most_drops)
    parse_fault("short diode great 36", Names(plan, found.wires)).spoil(found)
    held = {contact.point: number for number, contact in enumerate(found.contacts)}
    levels, _ = read(found, {held["great.36"], held["great.37"], held["great.40"]})
    lane, bit = places(plan)["great.41"]
    assert levels[Place(lane, bit)] == (not ghosts)


@pytest.mark.parametrize("plain_to", [RETURN, SUPPLY])
def test_of_two_rails_the_one_without_a_diode_wins(plain_to: str) -> None:
    """An input joined to one rail by a plain contact, and to the other through a diode, has the first one's level."""
    to_return, to_supply = Contact("a", "a", "input", RETURN), Contact("b", "b", SUPPLY, "input")
    (to_supply if plain_to == RETURN else to_return).diode = Diode.SOUND
    found = Wiring(contacts=[to_return, to_supply], lanes=[LaneInputs("g", ("input",), most_drops=2)])
    assert read(found, {0, 1})[0][Place(0, 0)] == (plain_to == SUPPLY)


@pytest.mark.parametrize("interface", ["chain", "matrix", "pins", "multiplexer", "expander"])
def test_a_sound_console_reads_each_contact_at_its_own_place(interface: str) -> None:
    """Every contact alone changes the one place that the plan gives its point, and changes it back."""
    plan = manual(interface)
    found = wiring(plan)
    circuit = Circuit(found)
    where = places(plan)
    for number, contact in enumerate(found.contacts):
        place = Place(*where[contact.point])
        assert circuit.contact(number, True) == [(place, False)]
        assert circuit.contact(number, False) == [(place, True)]
    assert len(found.contacts) == 61
