"""The matrices and consoles that the chord tests are held against, and chord lists that were found elsewhere."""

from __future__ import annotations

from retrofit.scan.matrix_faults.chords import Chord
from retrofit.scan.matrix_faults.crossings import KeyMatrix, regular_matrix
from tests.scan.matrix_faults.bench import FIVE_VOLTS, SCHOTTKY, SILICON, THREE_VOLTS, VIL_3V3, VIL_5V, Bench

MATRICES = {
    "8 x 8": regular_matrix(36, 61, rows=8, columns=8),
    "12 x 6": regular_matrix(24, 72, rows=12, columns=6),
    "5 x 5": regular_matrix(36, 25, rows=5, columns=5),
    "6 x 11": regular_matrix(36, 61, rows=6, columns=11),
}

CONSOLES = {
    "silicon at 5 V": (FIVE_VOLTS, SILICON, VIL_5V, 2),
    "Schottky at 5 V": (FIVE_VOLTS, SCHOTTKY, VIL_5V, 3),
    "silicon at 3.3 V": (THREE_VOLTS, SILICON, VIL_3V3, 1),
    "Schottky at 3.3 V": (THREE_VOLTS, SCHOTTKY, VIL_3V3, 2),
}
"""Console, diode, limit of a low level, and the diode drops that a low level has room for."""


def bench(matrix: KeyMatrix, console: str) -> tuple[Bench, float, int]:
    """Return a bench with the matrix on it, the limit of a low level and the drops that it has room for."""
    around, kind, threshold, most_drops = CONSOLES[console]
    return Bench(matrix.rows, matrix.columns, around, kind), threshold, most_drops


EIGHT_RINGS = tuple(
    Chord(keys)
    for keys in (
        (36, 39, 44, 45, 53, 54, 62, 63),
        (37, 38, 46, 47, 52, 55, 60, 61),
        (40, 43, 48, 49, 57, 58, 66, 67),
        (41, 42, 50, 51, 56, 59, 64, 65),
        (68, 71, 76, 77, 85, 86, 94, 95),
        (69, 70, 78, 79, 84, 87, 92, 93),
        (72, 75, 80, 81, 89, 90, 98, 99),
        (73, 74, 82, 83, 88, 91, 96, 97),
    )
)
"""The rings that 8 x 8 crossings from note 36 split into."""

EIGHT_CHORDS = tuple(
    Chord(left + right, len(left))
    for left, right in (
        ((55, 56, 58, 61, 63), (86, 90, 93, 94, 96)),
        ((36, 37, 40, 44, 47), (72, 73, 77, 79, 81)),
        ((60, 64, 67, 69, 70), (78, 80, 83, 85, 88)),
        ((65, 66, 68, 71, 76), (82, 87, 89, 92, 94)),
        ((38, 41, 45, 48, 49), (53, 57, 58, 62, 64)),
        ((39, 42, 43, 45, 50), (52, 56, 59, 60, 63)),
        ((46, 48, 51, 54, 55), (84, 91, 92, 95, 96)),
        ((72, 74, 75, 76, 82), (84, 87, 90, 91, 94)),
    )
)
"""A list for 61 keys from note 36 on 8 x 8 crossings of which the spare ones are watched too."""
