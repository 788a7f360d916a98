"""Three keys for one diode, and what each fault does at its address."""

from __future__ import annotations

import pytest

from retrofit.scan.matrix_faults.crossings import Crossing, regular_matrix
from retrofit.scan.matrix_faults.effects import fault_effect, fault_effects
from retrofit.scan.matrix_faults.hands import hands_hold
from retrofit.scan.matrix_faults.network import DiodeFault, reads_closed
from retrofit.scan.matrix_faults.three_keys import three_key_test
from tests.scan.matrix_faults.cases import MATRICES


def test_three_keys_in_notes() -> None:
    """8 x 8: hold n, n + 8 and n + 1, the ghost is n + 9; twelve columns: n + 13."""
    for columns in (8, 12):
        matrix = regular_matrix(36, 5 * columns, rows=5, columns=columns)
        test = three_key_test(matrix, 36)
        assert test is not None
        assert test.chord.keys == (36, 37, 36 + columns)
        assert matrix.key_at[test.ghost] == 36 + columns + 1


@pytest.mark.parametrize("name", MATRICES)
def test_three_keys_lie_under_two_hands(name: str) -> None:
    """Every diode of these matrices has a test that two hands hold."""
    matrix = MATRICES[name]
    for key in matrix.keys:
        test = three_key_test(matrix, key)
        assert test is not None
        assert test.chord.left_keys is not None
        assert hands_hold(test.chord.left, test.chord.right)


@pytest.mark.parametrize("name", MATRICES)
def test_what_each_fault_does(name: str) -> None:
    """What is said of a fault is what the walked ways read: alone, and in its three keys."""
    matrix = MATRICES[name]
    effects = fault_effects(matrix)
    assert len(effects) == 3 * len(matrix.keys)
    for effect in effects:
        here = matrix.keys[effect.key]
        faults = {here: effect.fault}
        assert (here in reads_closed([here], faults, most_drops=3)) is effect.reads_alone
        if effect.test is not None:
            held = [matrix.keys[key] for key in effect.test.chord.keys]
            assert effect.ghost_drops is not None
            seen = [
                effect.test.ghost in reads_closed(held, faults, most_drops=effect.ghost_drops - less) for less in (0, 1)
            ]
            assert seen == [True, False]


def test_an_open_diode_makes_no_ghost() -> None:
    """An open diode is silent alone and has no chord."""
    effect = fault_effect(MATRICES["8 x 8"], 60, DiodeFault.OPEN)
    assert (effect.reads_alone, effect.ghost_drops, effect.test, effect.harmless) == (False, None, None, False)


def test_a_short_that_does_no_harm() -> None:
    """In a single row a shorted diode changes nothing that can be played."""
    matrix = regular_matrix(36, 8, rows=1, columns=8)
    assert fault_effect(matrix, 36, DiodeFault.SHORTED).harmless
    assert not fault_effect(matrix, 36, DiodeFault.REVERSED).harmless
    held = list(matrix.keys.values())
    assert reads_closed(held[:5], {Crossing(0, 0): DiodeFault.SHORTED}, most_drops=9) == set(held[:5])
