"""Matrices whose rows are driven: what is read with faulty diodes, against the solver of node voltages."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.matrix_drive import row_guard
from retrofit.scan.matrix_faults.crossings import Crossing, regular_matrix
from retrofit.scan.matrix_faults.driven_rows import DrivenLevel, column_pairs, read_driven
from retrofit.scan.matrix_faults.network import DiodeFault
from tests.scan.matrix_faults.bench import FIVE_VOLTS, SCHOTTKY
from tests.scan.matrix_faults.nodal import Array, solve

GUARD_OHMS = row_guard(load_catalogue().boards["atmega2560"], 8).ohms
DRIVEN = replace(FIVE_VOLTS, row_ohms=25.0 + GUARD_OHMS, high_ohms=25.0 + GUARD_OHMS)
"""Rows whose drivers of 25 Ω pull low and push high through the resistor that is fitted."""
PLACES = st.tuples(st.integers(0, 4), st.integers(0, 4))
FAULTS = st.dictionaries(PLACES, st.sampled_from(DiodeFault), max_size=4)


def volts_of(held: set[tuple[int, int]], faults: dict[tuple[int, int], DiodeFault]) -> Array:
    """Return the column voltages, rows read in turn."""
    masks = {name: np.zeros((5, 5, 5)) for name in ("healthy", "reversed", "shorted", "open")}
    for row, column in held:
        fault = faults.get((row, column))
        masks["healthy" if fault is None else fault.value][:, row, column] = 1
    return solve(DRIVEN, SCHOTTKY, masks["healthy"], masks["reversed"], masks["shorted"], np.eye(5))


@given(held=st.sets(PLACES, min_size=1, max_size=10), faults=FAULTS)
@settings(max_examples=60, deadline=None)
def test_every_level_is_that_of_the_currents(
    held: set[tuple[int, int]], faults: dict[tuple[int, int], DiodeFault]
) -> None:
    """Low crossings lie below 1 V and high ones above 4 V; where rows fight, a level lies between."""
    volts = volts_of(held, faults)
    levels = read_driven(
        [Crossing(*place) for place in held], {Crossing(*place): fault for place, fault in faults.items()}
    )
    for crossing, level in levels.items():
        found = volts[crossing.row, crossing.column]
        if level is DrivenLevel.LOW:
            assert found < 1.0
        elif level is DrivenLevel.HIGH:
            assert found > 4.0
        else:
            assert 0.2 * 5 < found < 4.8


@given(held=st.sets(PLACES, min_size=1, max_size=12))
@settings(max_examples=30, deadline=None)
def test_healthy_diodes_make_neither_ghost_nor_fight(held: set[tuple[int, int]]) -> None:
    """Whatever is held, exactly that is low."""
    low = volts_of(held, {}) < 1.0
    assert {(int(row), int(column)) for row, column in zip(*np.nonzero(low), strict=True)} == held


@pytest.mark.parametrize("fault", [DiodeFault.SHORTED, DiodeFault.REVERSED])
def test_a_pair_accuses_the_faulty_diode(fault: DiodeFault) -> None:
    """With a shorted diode the other key of the pair drops out; a reversed one is silent itself, too."""
    levels = read_driven([Crossing(0, 2), Crossing(1, 2)], {Crossing(0, 2): fault})
    assert levels[Crossing(1, 2)] is DrivenLevel.FIGHT
    assert levels[Crossing(0, 2)] is (DrivenLevel.LOW if fault is DiodeFault.SHORTED else DrivenLevel.HIGH)


def test_an_open_diode_is_silent_and_harms_nobody() -> None:
    """The other key of its column is heard."""
    levels = read_driven([Crossing(0, 2), Crossing(1, 2)], {Crossing(0, 2): DiodeFault.OPEN})
    assert list(levels.values()) == [DrivenLevel.HIGH, DrivenLevel.LOW]


def test_no_ghost_is_fully_low() -> None:
    """The three keys of a rectangle that make a ghost with floating rows leave its place above 1.5 V."""
    held = {(0, 0), (1, 0), (0, 1)}
    volts = volts_of(held, {(0, 0): DiodeFault.SHORTED})
    assert volts[1, 1] > 1.5
    assert 1.5 < volts[1, 0] < 3.5, "the second key of the column is neither up nor down"


@pytest.mark.parametrize(("count", "pairs"), [(61, 32), (64, 32), (13, 5), (8, 0), (9, 1)])
def test_the_sweep_reaches_every_diode_that_can_do_harm(count: int, pairs: int) -> None:
    """Each pair is n and n + 8; every key is in one, or alone in its column."""
    plan = column_pairs(regular_matrix(36, count, rows=8, columns=8))
    assert len(plan.pairs) == pairs
    assert all(other - one == 8 for one, other in (pair.keys for pair in plan.pairs))
    swept = {key for pair in plan.pairs for key in pair.keys}
    assert swept | set(plan.alone) == set(plan.matrix.keys)
    assert not swept & set(plan.alone)


def test_the_pins_of_a_fight_stay_within_their_limit() -> None:
    """Every other key of a column held and its diode shorted: the low row sinks less than 40 mA (Atmel 2549)."""
    held = {(row, 0) for row in range(5)}
    faults = {(row, 0): DiodeFault.SHORTED for row in range(1, 5)}
    column = volts_of(held, faults)[0, 0]
    sunk_a = (column - SCHOTTKY.volts) / (25.0 + GUARD_OHMS)
    assert 0.005 < sunk_a < 0.040
