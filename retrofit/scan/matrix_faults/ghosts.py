"""The ghosts of a chord: where a key seems down that nobody holds, for each diode that may let current back.

While row b is read, a faulty diode (a, c) whose key is held joins the row a, adrift, to column c.  With (b, c) held as
well, every column d of a held key (a, d) finds its way to row b, and (b, d) reads closed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from retrofit.scan.matrix_faults.crossings import Crossing, KeyMatrix


def ghost_masks(matrix: KeyMatrix, chord: Iterable[int]) -> dict[int, int]:
    """Return for each held key the ghosts that are heard while its diode is shorted or reversed, a bit each.

    The bit of a crossing is row times columns plus column.
    """
    held = [(key, matrix.keys[key].row, matrix.keys[key].column) for key in chord]
    by_row, by_column = [0] * matrix.rows, [0] * matrix.columns
    for _, row, column in held:
        by_row[row] |= 1 << column
        by_column[column] |= 1 << row
    return {key: _ghosts(matrix, by_row, by_column[column], row, column) for key, row, column in held}


def _ghosts(matrix: KeyMatrix, by_row: list[int], partners: int, row: int, column: int) -> int:
    joined, found = by_row[row] & ~(1 << column), 0
    while joined and partners:
        other = (partners & -partners).bit_length() - 1
        found |= (joined & ~by_row[other] & matrix.heard_columns[other]) << other * matrix.columns
        partners &= partners - 1
    return found


def crossings_of(matrix: KeyMatrix, mask: int) -> tuple[Crossing, ...]:
    """Return the crossings whose bits are set, rising."""
    return tuple(Crossing(*divmod(place, matrix.columns)) for place in range(mask.bit_length()) if mask >> place & 1)


def suspects(matrix: KeyMatrix, chord: Iterable[int]) -> Mapping[tuple[Crossing, ...], tuple[int, ...]]:
    """Return each pattern of ghosts that one faulty diode would make of a chord, and the keys whose diode it can be."""
    found: dict[tuple[Crossing, ...], tuple[int, ...]] = {}
    for key, mask in sorted(ghost_masks(matrix, chord).items()):
        if mask:
            pattern = crossings_of(matrix, mask)
            found[pattern] = (*found.get(pattern, ()), key)
    return found
