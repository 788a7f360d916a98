"""Matrices from addresses: several side by side do not touch."""

from __future__ import annotations

import pytest

from retrofit.scan.addresses import MatrixAddress
from retrofit.scan.matrix_faults.crossings import addressed_matrix, regular_matrix
from retrofit.scan.matrix_faults.three_keys import makes_no_ghost, three_key_test


def test_matrices_stand_side_by_side() -> None:
    """Equal rows and columns of two matrices are different wires, so that no ghost leads across."""
    keys = {
        36: MatrixAddress(1, 2, 0),
        37: MatrixAddress(1, 2, 1),
        38: MatrixAddress(2, 2, 0),
        39: MatrixAddress(2, 3, 0),
    }
    matrix = addressed_matrix(keys, keys.values()).matrix
    assert (matrix.rows, matrix.columns) == (3, 3)
    assert all(makes_no_ghost(matrix, key) for key in keys)


def test_a_silent_crossing_hears_no_ghost() -> None:
    """A test looks for a ghost that is heard: without note 45 sending, note 36 is tested otherwise."""
    keys = {36 + 8 * row + column: MatrixAddress(1, row, column) for row in range(3) for column in range(8)}
    usual = three_key_test(addressed_matrix(keys, keys.values()).matrix, 36)
    sending = [address for key, address in keys.items() if key != 45]
    found = addressed_matrix(keys, sending)
    other = three_key_test(found.matrix, 36)
    assert usual is not None
    assert other is not None
    assert usual.ghost == found.crossings[keys[45]]
    assert other.ghost != usual.ghost


def test_too_many_keys() -> None:
    """65 keys do not fit 8 x 8."""
    with pytest.raises(ValueError, match="65 keys do not fit 8 x 8 crossings"):
        regular_matrix(0, 65, rows=8, columns=8)
