"""What a matrix reads whose idle rows are driven high, with any faulty diodes, and the pairs of keys that show them.

Every row is driven, so that no ghost is pulled fully low.  A shorted or reversed diode lets its idle row feed its
column instead: the other held keys of that column, whose rows are pulled low in turn, fight against it and drop out, or
read between the levels.  Through the resistors of the rows both drivers then give way, so that every other held key of
the two rows reads between the levels too.  Held alone, two keys of one column therefore test each other's diodes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from retrofit.scan.matrix_faults.crossings import Crossing, KeyMatrix
from retrofit.scan.matrix_faults.network import DiodeFault, Faults


class DrivenLevel(StrEnum):
    """What a crossing reads: low as a held key does, high as an open one, or neither, because drivers fight."""

    LOW = "low"
    HIGH = "high"
    FIGHT = "fight"


@dataclass(frozen=True, slots=True)
class ColumnPair:
    """Two keys of one column, held together: one that drops out accuses the diode of the other."""

    keys: tuple[int, int]


@dataclass(frozen=True, slots=True)
class PairPlan:
    """The pairs that test every diode of a matrix, and keys alone in their column, where a short does no harm."""

    matrix: KeyMatrix
    pairs: tuple[ColumnPair, ...]
    alone: tuple[int, ...]


def read_driven(held: Iterable[Crossing], faults: Faults) -> dict[Crossing, DrivenLevel]:
    """Return what each crossing of a row and a column with a held key reads, rows read in turn."""
    closed = sorted(set(held))
    rows, columns = {crossing.row for crossing in closed}, {crossing.column for crossing in closed}
    found: dict[Crossing, DrivenLevel] = {}
    for row in sorted(rows):
        fighting = _fighting_rows(row, closed, faults)
        for column in sorted(columns):
            found[Crossing(row, column)] = _level(row, fighting, [at for at in closed if at.column == column], faults)
    return found


def _sinks(at: Crossing, faults: Faults) -> bool:
    """Return whether a held key lets its column's current into its row."""
    return faults.get(at) in (None, DiodeFault.SHORTED)


def _feeds(at: Crossing, faults: Faults) -> bool:
    """Return whether a held key lets its row's current into its column."""
    return faults.get(at) in (DiodeFault.SHORTED, DiodeFault.REVERSED)


def _fighting_rows(row: int, closed: list[Crossing], faults: Faults) -> frozenset[int]:
    """Return the rows whose drivers meet while a row is low: it, and those that feed a column that it pulls down."""
    pulled = {at.column for at in closed if at.row == row and _sinks(at, faults)}
    feeding = {at.row for at in closed if at.row != row and at.column in pulled and _feeds(at, faults)}
    return frozenset({row, *feeding} if feeding else ())


def _level(row: int, fighting: frozenset[int], in_column: list[Crossing], faults: Faults) -> DrivenLevel:
    """Return the level of a column while a row is low."""
    sinks = {at.row for at in in_column if _sinks(at, faults)}
    if sinks & fighting:
        return DrivenLevel.FIGHT
    return DrivenLevel.LOW if row in sinks else DrivenLevel.HIGH


def column_pairs(matrix: KeyMatrix) -> PairPlan:
    """Return the keys of each column in pairs of neighbouring rows; an odd one is held with the key before it."""
    by_column: dict[int, list[int]] = {}
    for key, at in sorted(matrix.keys.items(), key=lambda entry: (entry[1].column, entry[1].row)):
        by_column.setdefault(at.column, []).append(key)
    pairs = [pair for keys in by_column.values() for pair in _pairs(keys)]
    alone = tuple(keys[0] for keys in by_column.values() if len(keys) == 1)
    return PairPlan(matrix, tuple(sorted(pairs, key=lambda pair: pair.keys)), tuple(sorted(alone)))


def _pairs(keys: list[int]) -> list[ColumnPair]:
    found = [ColumnPair((one, other)) for one, other in zip(keys[::2], keys[1::2], strict=False)]
    if len(keys) % 2 and len(keys) > 1:
        found.append(ColumnPair((keys[-2], keys[-1])))
    return found
