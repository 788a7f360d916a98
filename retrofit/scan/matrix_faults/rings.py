"""Rings of eight keys: four rows and four columns, each with two of the keys, so that each diode has its own ghost.

A ring steps from key to key along a row, then along a column, and closes.  Four keys hide every ghost, six share each
between two suspects, eight tell all eight diodes apart.  They are held by weights: no hand reaches so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product

from retrofit.scan.matrix_faults.chords import Chord, located_keys
from retrofit.scan.matrix_faults.crossings import Crossing, KeyMatrix

SIDE = 4
_Corners = tuple[Crossing, ...]


def rings_of_eight(matrix: KeyMatrix) -> tuple[Chord, ...]:
    """Return rings that locate every diode which a ring can reach; blocks of four by four first, then what is left."""
    rings: list[Chord] = []
    tested: set[int] = set()
    for corners in _block_rings(matrix):
        if _sound(matrix, corners):
            _take(matrix, corners, rings, tested)
    for key in matrix.keys:
        if key not in tested:
            ring = _ring_through(matrix, key, tested)
            if ring is not None:
                _take(matrix, ring, rings, tested)
    return tuple(rings)


def _take(matrix: KeyMatrix, corners: Iterable[Crossing], rings: list[Chord], tested: set[int]) -> None:
    ring = Chord(tuple(sorted(matrix.key_at[corner] for corner in corners)))
    rings.append(ring)
    tested |= located_keys(matrix, [ring])


def _block_rings(matrix: KeyMatrix) -> Iterator[_Corners]:
    """Yield the two rings that every whole block of four rows and four columns splits into."""
    tops = range(0, matrix.rows - SIDE + 1, SIDE)
    lefts = range(0, matrix.columns - SIDE + 1, SIDE)
    for top, left, begin in product(tops, lefts, (0, SIDE // 2)):
        yield tuple(
            Crossing(top + step, left + (step + begin + side) % SIDE) for step in range(SIDE) for side in (0, -1)
        )


def _sound(matrix: KeyMatrix, corners: _Corners) -> bool:
    """True when every corner has a key and every diode of the ring a ghost that is heard."""
    if not all(corner in matrix.key_at for corner in corners):
        return False
    keys = [matrix.key_at[corner] for corner in corners]
    return len(located_keys(matrix, [Chord(tuple(keys))])) == len(keys)


def _ring_through(matrix: KeyMatrix, key: int, tested: set[int]) -> _Corners | None:
    """Return the first ring through a key, keys not yet tested tried before others."""
    return next(_extensions(matrix, (matrix.keys[key],), tested), None)


def _extensions(matrix: KeyMatrix, path: _Corners, tested: set[int]) -> Iterator[_Corners]:
    if len(path) == 2 * SIDE:
        if path[-1].column == path[0].column and _sound(matrix, path):
            yield path
        return
    for corner in _next_corners(matrix, path, tested):
        yield from _extensions(matrix, (*path, corner), tested)


def _next_corners(matrix: KeyMatrix, path: _Corners, tested: set[int]) -> list[Crossing]:
    """Return where a ring may go on: along the row to a new column, or along the column to a new row.

    The last step along a row leads back to the column that the ring began in.
    """
    last, along_row = path[-1], len(path) % 2 == 1
    rows, columns = {corner.row for corner in path}, {corner.column for corner in path}
    if not along_row:
        found = [Crossing(row, last.column) for row in range(matrix.rows) if row not in rows]
    elif len(path) == 2 * SIDE - 1:
        found = [Crossing(last.row, path[0].column)]
    else:
        found = [Crossing(last.row, column) for column in range(matrix.columns) if column not in columns]
    held = (corner for corner in found if corner in matrix.key_at)
    return sorted(held, key=lambda corner: (matrix.key_at[corner] in tested, corner))
