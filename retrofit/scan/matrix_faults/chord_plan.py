"""The chords by which the diodes of a matrix are tested, and what they leave: which diodes, and how each is reached."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from retrofit.scan.matrix_faults.chords import Chord, located_keys
from retrofit.scan.matrix_faults.crossings import KeyMatrix
from retrofit.scan.matrix_faults.rings import rings_of_eight
from retrofit.scan.matrix_faults.search import Watch, hand_chords
from retrofit.scan.matrix_faults.three_keys import ThreeKeyTest, makes_no_ghost, three_key_test


@dataclass(frozen=True, slots=True)
class ChordPlan:
    """Chords with the keys whose diode they locate, and the rest.

    `by_three_keys` reaches one diode each.  `without_ghost` are keys whose shorted diode makes no ghost whatever is
    held; `unheard` are keys whose ghosts all fall on crossings that send nothing.
    """

    matrix: KeyMatrix
    chords: tuple[Chord, ...]
    located: frozenset[int]
    by_three_keys: tuple[ThreeKeyTest, ...]
    without_ghost: tuple[int, ...]
    unheard: tuple[int, ...]


def chords_for_hands(matrix: KeyMatrix, *, seed: int = 0, watch: Watch | None = None) -> ChordPlan:
    """Return a plan whose chords two hands can hold."""
    reachable = frozenset(key for key in matrix.keys if three_key_test(matrix, key) is not None)
    return chord_plan(matrix, hand_chords(matrix, reachable, seed=seed, watch=watch))


def chords_as_rings(matrix: KeyMatrix) -> ChordPlan:
    """Return a plan whose chords are rings of eight keys, held by weights."""
    return chord_plan(matrix, rings_of_eight(matrix))


def chord_plan(matrix: KeyMatrix, chords: Sequence[Chord]) -> ChordPlan:
    """Return what chords locate, and how each diode that they do not locate is reached."""
    located = located_keys(matrix, chords)
    left = sorted(key for key in matrix.keys if key not in located)
    tests = [(key, three_key_test(matrix, key)) for key in left]
    untested = [key for key, test in tests if test is None]
    return ChordPlan(
        matrix=matrix,
        chords=tuple(chords),
        located=located,
        by_three_keys=tuple(test for _, test in tests if test is not None),
        without_ghost=tuple(key for key in untested if makes_no_ghost(matrix, key)),
        unheard=tuple(key for key in untested if not makes_no_ghost(matrix, key)),
    )
