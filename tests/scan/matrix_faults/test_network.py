"""Any number of faults at once: the ways that are walked against the solver of node voltages."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.scan.matrix_faults.crossings import Crossing, regular_matrix
from retrofit.scan.matrix_faults.ghosts import crossings_of, ghost_masks
from retrofit.scan.matrix_faults.network import DiodeFault, read_drops, reads_closed
from tests.scan.matrix_faults.bench import FIVE_VOLTS, SCHOTTKY
from tests.scan.matrix_faults.nodal import solve

PLACES = st.tuples(st.integers(0, 4), st.integers(0, 4))
FAULTS = st.dictionaries(PLACES, st.sampled_from(DiodeFault), max_size=4)


@given(held=st.sets(PLACES, min_size=1, max_size=10), faults=FAULTS)
@settings(max_examples=60, deadline=None)
def test_every_way_has_the_level_of_its_drops(
    held: set[tuple[int, int]], faults: dict[tuple[int, int], DiodeFault]
) -> None:
    """A column is pulled down exactly where a way to the row is found, to 0.25 to 0.38 V for each Schottky drop."""
    masks = {name: np.zeros((5, 5, 5)) for name in ("healthy", "reversed", "shorted", "open")}
    for row, column in held:
        fault = faults.get((row, column))
        masks["healthy" if fault is None else fault.value][:, row, column] = 1
    volts = solve(FIVE_VOLTS, SCHOTTKY, masks["healthy"], masks["reversed"], masks["shorted"], np.eye(5))
    drops = read_drops(
        [Crossing(*place) for place in held], {Crossing(*place): fault for place, fault in faults.items()}
    )
    down = {Crossing(int(row), int(column)) for row, column in zip(*np.nonzero(volts < 4.5), strict=True)}
    assert down == set(drops)
    for crossing, count in drops.items():
        assert 0.25 * count <= volts[crossing.row, crossing.column] <= 0.38 * count + 0.1


@given(chord=st.sets(st.integers(0, 24), min_size=1, max_size=12), key=st.integers(0, 24))
def test_one_fault_by_both_ways_of_reckoning(chord: set[int], key: int) -> None:
    """The ghosts of a chord by rows and columns are those of the walked ways."""
    matrix = regular_matrix(0, 25, rows=5, columns=5)
    held = {matrix.keys[one] for one in chord}
    walked = reads_closed(held, {matrix.keys[key]: DiodeFault.SHORTED}, most_drops=2) - held
    assert walked == set(crossings_of(matrix, ghost_masks(matrix, chord).get(key, 0)))


def test_no_diodes_at_all() -> None:
    """With every diode bridged three keys of a rectangle always read as four."""
    held = [Crossing(0, 0), Crossing(1, 0), Crossing(0, 1)]
    shorted = dict.fromkeys(held, DiodeFault.SHORTED)
    assert reads_closed(held, shorted, most_drops=2) == {*held, Crossing(1, 1)}


def test_levels_hide_ghosts() -> None:
    """A low level with room for two drops shows the ghost of a short and not that of a reversed diode."""
    held = [Crossing(0, 0), Crossing(1, 0), Crossing(0, 1)]
    seen = [reads_closed(held, {held[0]: fault}, most_drops=2) for fault in (DiodeFault.SHORTED, DiodeFault.REVERSED)]
    assert [Crossing(1, 1) in one for one in seen] == [True, False]
