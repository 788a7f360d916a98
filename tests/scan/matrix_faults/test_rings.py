"""Rings of eight: two in every row and column that they touch, and every diode with a ghost of its own."""

from __future__ import annotations

from collections import Counter

import pytest

from retrofit.scan.matrix_faults.chord_plan import chords_as_rings
from retrofit.scan.matrix_faults.chords import Chord, located_keys
from retrofit.scan.matrix_faults.crossings import regular_matrix
from tests.scan.matrix_faults.cases import EIGHT_RINGS, MATRICES


def test_sixty_four_crossings_split_into_the_eight_rings() -> None:
    """8 x 8 crossings split into eight rings without a key twice: those of the list found elsewhere."""
    plan = chords_as_rings(regular_matrix(36, 64, rows=8, columns=8))
    assert {chord.keys for chord in plan.chords} == {ring.keys for ring in EIGHT_RINGS}


@pytest.mark.parametrize("name", MATRICES)
def test_every_matrix_is_covered_by_rings(name: str) -> None:
    """Any rows and columns from four up, whole or not, are located by rings of eight."""
    matrix = MATRICES[name]
    plan = chords_as_rings(matrix)
    assert plan.located == set(matrix.keys)
    for chord in plan.chords:
        assert len(chord.keys) == 8
        assert set(Counter(matrix.keys[key].row for key in chord.keys).values()) == {2}
        assert set(Counter(matrix.keys[key].column for key in chord.keys).values()) == {2}
        assert located_keys(matrix, [chord]) == set(chord.keys)


def test_six_keys_share_their_ghosts_and_four_hide_them() -> None:
    """A ring of six detects without telling apart; a rectangle shows nothing."""
    matrix = regular_matrix(0, 64, rows=8, columns=8)
    six = Chord((0, 1, 9, 10, 16, 18))
    assert located_keys(matrix, [six]) == frozenset()
    assert located_keys(matrix, [Chord((0, 1, 8, 9))]) == frozenset()


@pytest.mark.parametrize(("rows", "columns"), [(3, 8), (8, 3)])
def test_no_ring_where_three_wires_are_all(rows: int, columns: int) -> None:
    """Three rows or columns hold no ring of eight: three keys each test the diodes."""
    plan = chords_as_rings(regular_matrix(36, 24, rows=rows, columns=columns))
    assert plan.chords == ()
    assert [test.key for test in plan.by_three_keys] == list(range(36, 60))
