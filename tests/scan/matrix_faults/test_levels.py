"""The level of a ghost at its worst corner: above what the solver of node voltages finds, and judged by the board."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.result import Span
from retrofit.circuits.sense.logic_input import LogicInput, pin_input
from retrofit.circuits.sense.matrix_network import Matrix
from retrofit.scan.matrix_faults.chord_plan import chords_for_hands
from retrofit.scan.matrix_faults.levels import GhostLoad, Sight, ghost_level, heaviest_load
from retrofit.scan.matrix_faults.network import GHOST_DROPS, DiodeFault
from tests.scan.matrix_faults.bench import Bench
from tests.scan.matrix_faults.cases import MATRICES
from tests.scan.matrix_faults.nodal import Console, Kind

CATALOGUE = load_catalogue()
PIN = pin_input(CATALOGUE.boards["atmega2560"])
SCHOTTKY = Matrix(CATALOGUE.diodes["bat85"], CATALOGUE.cables["unknown"], row_ohms=45.0, series_ohms=Span(0, 10))
SILICON = replace(SCHOTTKY, diode=CATALOGUE.diodes["1n4148"])
LOAD = GhostLoad(fault=1, row=2)
THREE_VOLTS = LogicInput(
    "pin at 3.3 V", Span(3.13, 3.47), vil=lambda _: 0.8, vih=lambda _: 2.0, leakage_a=1e-6, clamp=True, capacitance_pf=5
)
"""RP2040 data sheet: VIL at most 0.8 V, VIH at least 2.0 V at 3.3 V."""


@pytest.mark.parametrize(
    ("behind", "network", "shorted", "reversed_"),
    [
        (PIN, SCHOTTKY, Sight.SURE, Sight.SURE),
        (PIN, SILICON, Sight.NOT_SURE, Sight.NOT_SURE),
        (THREE_VOLTS, SCHOTTKY, Sight.SURE, Sight.NOT_SURE),
        (THREE_VOLTS, SILICON, Sight.NOT_SURE, Sight.NOT_SURE),
    ],
)
def test_which_ghosts_are_sure(behind: LogicInput, network: Matrix, shorted: Sight, reversed_: Sight) -> None:
    """BAT85 (0.32 V at 1 mA) shows ghosts that a 1N4148 (1 V at 10 mA is all its sheet promises) need not show."""
    found = [ghost_level(fault, LOAD, behind, network).sight for fault in (DiodeFault.SHORTED, DiodeFault.REVERSED)]
    assert found == [shorted, reversed_]


def test_the_level_by_hand() -> None:
    """4.5 V through 9.5 kΩ: two columns in the row's 45 Ω, 0.32 + 0.05 V for each diode up to 1 mA, VIL 0.3 x 4.5 V."""
    level = ghost_level(DiodeFault.SHORTED, LOAD, PIN, SCHOTTKY)
    amps = 4.5 / 9500
    assert level.result is not None
    assert level.result.value == pytest.approx(2 * amps * 45 + 2 * 0.37)
    assert level.result.limit == pytest.approx(1.35)
    assert level.contact_ohms_max == pytest.approx((1.35 - 2 * amps * 45 - 0.74) / (4 * amps), rel=0.05)


@pytest.mark.parametrize("name", MATRICES)
@pytest.mark.parametrize("fault", GHOST_DROPS)
def test_no_ghost_stands_higher_than_said(name: str, fault: DiodeFault) -> None:
    """With diodes that drop what the data sheet allows in the cold no ghost exceeds the level; the worst comes near."""
    matrix = MATRICES[name]
    chords = chords_for_hands(matrix).chords
    level = ghost_level(fault, heaviest_load(matrix, chords), PIN, SCHOTTKY)
    assert level.result is not None
    bench = Bench(matrix.rows, matrix.columns, Console(4.5, 9500, 45.0, contact_ohms=0.01), Kind(0.45, 10e-3, 1.05))
    places = {key: (at.row, at.column) for key, at in matrix.keys.items()}
    cases = [([places[one] for one in chord.keys], places[key], fault.value) for chord in chords for key in chord.keys]
    volts = bench.volts(cases)
    for (held, _, _), found in zip(cases, volts, strict=True):
        for row, column in held:
            found[row, column] = 0.0
    ghosts = volts[volts < 4.0]
    assert ghosts.max() <= level.result.value
    assert ghosts.max() >= 0.7 * level.result.value


def test_what_is_unknown_stays_unknown() -> None:
    """Without the kind of diode, the driver or the contacts nothing is promised, and the words say what is missing."""
    cases = [
        (replace(SCHOTTKY, diode=None), "the kind of diode"),
        (replace(SCHOTTKY, row_ohms=None), "the resistance of a row's driver"),
        (replace(SCHOTTKY, series_ohms=None), "the resistance of the contacts"),
    ]
    for network, missing in cases:
        level = ghost_level(DiodeFault.SHORTED, LOAD, PIN, network)
        assert (level.sight, level.missing) == (Sight.UNKNOWN, missing)


def test_bad_contacts_hide_a_ghost() -> None:
    """A contact above the tolerated resistance takes the promise away; one just below keeps it."""
    tolerated = ghost_level(DiodeFault.SHORTED, LOAD, PIN, SCHOTTKY).contact_ohms_max
    assert tolerated is not None
    sights = [
        ghost_level(DiodeFault.SHORTED, LOAD, PIN, replace(SCHOTTKY, series_ohms=Span(0, ohms))).sight
        for ohms in (tolerated - 1, tolerated + 1)
    ]
    assert sights == [Sight.SURE, Sight.NOT_SURE]


def test_a_current_beyond_the_data_sheet() -> None:
    """A pull-up that drives more than the diode's printed currents is said, and no level is made up."""
    level = ghost_level(DiodeFault.SHORTED, LOAD, PIN, replace(SILICON, pull_up_ohms=200))
    assert level.sight is Sight.UNKNOWN
    assert "no forward voltage is printed" in level.missing


def test_the_heaviest_load_of_a_chord() -> None:
    """8 x 8 from note 36: three keys in row 0 send two columns through a fault; with row 1 four columns can meet."""
    matrix = MATRICES["8 x 8"]
    chord = chords_for_hands(MATRICES["5 x 5"]).chords[0]
    assert heaviest_load(matrix, [replace(chord, keys=(36, 37, 38, 44, 47))]) == GhostLoad(fault=2, row=4)
