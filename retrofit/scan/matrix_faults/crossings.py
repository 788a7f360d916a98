"""Which key lies at which crossing of a diode matrix, and which crossings are heard when they read closed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from retrofit.scan.addresses import MatrixAddress


@dataclass(frozen=True, order=True)
class Crossing:
    """A row and a column, each counted from 0."""

    row: int
    column: int


@dataclass(frozen=True)
class KeyMatrix:
    """The keys of a matrix by number, and the crossings at which a ghost would be noticed.

    Current flows from a column through key and diode into the row that is pulled low; rows that are not read are left
    adrift.  A crossing that is not `heard` sends nothing, so that a ghost there goes unnoticed.
    """

    rows: int
    columns: int
    keys: Mapping[int, Crossing]
    heard: frozenset[Crossing]

    @cached_property
    def key_at(self) -> Mapping[Crossing, int]:
        """The key at each crossing that has one."""
        return {crossing: key for key, crossing in self.keys.items()}

    @cached_property
    def heard_columns(self) -> tuple[int, ...]:
        """For each row the columns that are heard, a bit each."""
        masks = [0] * self.rows
        for crossing in self.heard:
            masks[crossing.row] |= 1 << crossing.column
        return tuple(masks)


def regular_matrix(first: int, count: int, *, rows: int, columns: int, spare_heard: bool = False) -> KeyMatrix:
    """Return `count` keys from `first` up, key n at row n // columns and column n % columns.

    With `spare_heard` the crossings without a key are watched too.  Raises `ValueError` when the keys do not fit.
    """
    if count > rows * columns:
        raise ValueError(f"{count} keys do not fit {rows} x {columns} crossings")
    keys = {first + place: Crossing(*divmod(place, columns)) for place in range(count)}
    every = frozenset(Crossing(row, column) for row in range(rows) for column in range(columns))
    return KeyMatrix(rows, columns, keys, every if spare_heard else frozenset(keys.values()))


@dataclass(frozen=True)
class AddressedMatrix:
    """A matrix with the crossing of every address in it."""

    matrix: KeyMatrix
    crossings: Mapping[MatrixAddress, Crossing]


def addressed_matrix(keys: Mapping[int, MatrixAddress], heard: Iterable[MatrixAddress]) -> AddressedMatrix:
    """Return the matrix of keys with the addresses of a plan, `heard` those that send a message.

    Matrices stand side by side: each brings rows and columns of its own, so that no path leads from one to another.
    """
    sending = set(heard)
    known = sorted({*keys.values(), *sending})
    rows = {place: index for index, place in enumerate(dict.fromkeys((at.matrix, at.row) for at in known))}
    columns = {place: index for index, place in enumerate(sorted({(at.matrix, at.column) for at in known}))}
    crossings = {at: Crossing(rows[at.matrix, at.row], columns[at.matrix, at.column]) for at in known}
    matrix = KeyMatrix(
        rows=len(rows),
        columns=len(columns),
        keys={key: crossings[at] for key, at in keys.items()},
        heard=frozenset(crossings[at] for at in sending),
    )
    return AddressedMatrix(matrix, crossings)
