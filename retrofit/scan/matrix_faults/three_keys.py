"""Three keys that test one diode: its own, one of its column and one of its row; the ghost is the fourth corner."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from retrofit.scan.matrix_faults.chords import Chord
from retrofit.scan.matrix_faults.crossings import Crossing, KeyMatrix
from retrofit.scan.matrix_faults.hands import hands_hold


@dataclass(frozen=True, slots=True)
class ThreeKeyTest:
    """The diode of `key` is faulty when the ghost reads closed; the diodes of the other two keys are not tested."""

    key: int
    chord: Chord
    ghost: Crossing


def three_key_test(matrix: KeyMatrix, key: int) -> ThreeKeyTest | None:
    """Return the test of one diode that lies easiest under the hands; None where no ghost of it would be heard."""
    tests = [test for test in _tests(matrix, key) if test.ghost in matrix.heard]
    return min(tests, key=_awkward, default=None)


def makes_no_ghost(matrix: KeyMatrix, key: int) -> bool:
    """True when nothing that can be held shows a short of this diode anywhere: it then does no harm either."""
    return next(_tests(matrix, key), None) is None


def _tests(matrix: KeyMatrix, key: int) -> Iterator[ThreeKeyTest]:
    here = matrix.keys[key]
    in_column = [(other, at.row) for other, at in matrix.keys.items() if at.column == here.column and other != key]
    in_row = [(other, at.column) for other, at in matrix.keys.items() if at.row == here.row and other != key]
    for above, row in in_column:
        for beside, column in in_row:
            yield ThreeKeyTest(key, _chord(key, above, beside), Crossing(row, column))


def _chord(*keys: int) -> Chord:
    """Return the keys, rising, given to two hands, or to one; no hand is meant where they lie too far apart."""
    held = tuple(sorted(keys))
    splits = (split for split in (0, 1, 2) if hands_hold(held[:split], held[split:]))
    return Chord(held, next(splits, None))


def _awkward(test: ThreeKeyTest) -> tuple[object, ...]:
    keys = test.chord.keys
    return test.chord.left_keys is None, keys[-1] - keys[0], keys
