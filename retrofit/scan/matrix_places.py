"""Places on diode matrices of the board's own pins: active-low rows, columns on one whole port.

Position p of a group lies on its row p // columns at column p % columns.  Which pins a matrix has follows from its
number and row alone, never from what else the job holds: an address names no pin, and yet wired pins must stay.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from retrofit.catalogue.parts import Board, Pin
from retrofit.scan.addresses import Address, MatrixAddress
from retrofit.scan.layout import Source
from retrofit.scan.placing import Objection, Placing
from retrofit.scan.requests import GroupRequest, MatrixStyle
from retrofit.survey.wishes import MatrixDrive

ROWS = 8
"""The most rows of one matrix in the firmware's table."""
COLUMNS = 8
"""Columns are read as one port."""


class MatrixPlaces:
    """Rows for groups, and the pins behind them.  `styles` says how each group on matrices would have them read."""

    def __init__(self, placing: Placing, styles: Mapping[str, MatrixStyle]) -> None:
        self._placing, self._styles = placing, styles
        self._column_ports, self._row_pool = _pins_for_matrices(placing.board)

    def column_port(self, matrix: int) -> str:
        """Return the port of a matrix's columns."""
        return self._column_ports[matrix - 1]

    def row_pins(self, matrix: int, rows: int) -> list[Pin]:
        """Return the pins of the first rows of a matrix; fewer where the board has no more."""
        first = (matrix - 1) * ROWS
        return self._row_pool[first : first + rows]

    def admit(self, address: Address) -> Objection | None:
        """Accept a crossing whose pins are there and free, and keep those pins."""
        if isinstance(address, MatrixAddress) and address.column < COLUMNS and self._open(address.matrix, address.row):
            return None
        return Objection(
            found=f"{address} finds no pins on this board",
            allowed=f"{len(self._column_ports)} matrices of {COLUMNS} columns with {len(self._row_pool)} rows in all, "
            "on pins that nothing else uses",
            remedy="wire it to a matrix that exists, free its pins, or put the group on the chain",
        )

    def own(self, request: GroupRequest) -> list[Address]:
        """Return the vacant crossings of the group's rows, as far as its columns go."""
        rows = self._placing.lanes_of(request.group, Source.MATRIX)
        return self._placing.vacant(
            MatrixAddress(int(matrix), row, column) for matrix, row in rows for column in range(request.matrix_columns)
        )

    def fresh(self, request: GroupRequest, needed: int) -> list[Address]:
        """Return the crossings of one more row.

        A group goes on along a matrix that it is on, shares one with room for all of its rows, or begins a new one;
        when there is none it takes any row that is left.  Groups share a matrix that all of them would have read alike.
        """
        rows = min(ROWS, -(-needed // request.matrix_columns))
        for matrix in self._candidates(request.group, rows):
            row = next(self._free_rows(matrix), None)
            if row is not None and self._placing.has_lane_left() and self._open(matrix, row):
                return [MatrixAddress(matrix, row, column) for column in range(request.matrix_columns)]
        return []

    def _candidates(self, group: str, rows: int) -> Iterator[int]:
        numbers = range(1, len(self._column_ports) + 1)
        in_use = [number for number in numbers if self._groups_on(number)]
        alike = [number for number in in_use if all(map(self._like(group), self._groups_on(number)))]
        yield from dict.fromkeys(int(matrix) for matrix, _ in self._placing.lanes_of(group, Source.MATRIX))
        yield from (matrix for matrix in alike if len(list(self._free_rows(matrix))) >= rows)
        yield from (matrix for matrix in numbers if matrix not in in_use)
        yield from alike

    def _groups_on(self, matrix: int) -> set[str]:
        lanes = self._placing.owners.items()
        return {group for (source, where, _), group in lanes if source is Source.MATRIX and where == str(matrix)}

    def _like(self, group: str) -> Callable[[str], bool]:
        """Return a test of other groups: driven like this one, and charged where it is."""

        def kind(name: str) -> tuple[MatrixDrive, bool]:
            style = self._styles.get(name, MatrixStyle())
            return style.drive, style.precharge_us > 0

        return lambda other: kind(other) == kind(group)

    def _free_rows(self, matrix: int) -> Iterator[int]:
        return (
            row
            for row in range(ROWS)
            if (Source.MATRIX, str(matrix), row) not in self._placing.owners and self._uses(matrix, row) is not None
        )

    def _open(self, matrix: int, row: int) -> bool:
        """Keep the pins of a matrix up to and with a row; False, and nothing kept, when one is missing or taken."""
        uses = self._uses(matrix, row)
        self._placing.pins |= uses or {}
        return uses is not None

    def _uses(self, matrix: int, row: int) -> dict[str, str] | None:
        """Return what each pin of a matrix up to a row would be used for; None when one is missing or taken."""
        if not (1 <= matrix <= len(self._column_ports) and row < ROWS):
            return None
        rows, columns = self.row_pins(matrix, row + 1), self._placing.port_pins(self.column_port(matrix))
        uses = {pin.name: f"matrix {matrix} row {number}" for number, pin in enumerate(rows)}
        uses |= {pin.name: f"matrix {matrix} column {pin.bit}" for pin in columns}
        free = all(self._placing.pins.get(name, use) == use for name, use in uses.items())
        return uses if free and len(rows) == row + 1 else None


def _pins_for_matrices(board: Board) -> tuple[list[str], list[Pin]]:
    """Return the ports for columns, by matrix number, and the pins for rows, eight for each matrix in turn.

    Columns need ports without a reserved pin; those that the converter does not share come first.  Rows lie on the
    pins of broken ports, then on a port that is kept back for them, and at last on loose pins of the converter.  Kept
    back is the converter's first port, from its top down, where shoes are least likely; a board whose converter has no
    whole port keeps back the last one of the others, its bus at the end.
    """
    pins = {port: [pin for pin in board.pins if pin.port == port] for port in board.ports}
    whole = [port for port in board.ports if len(pins[port]) == COLUMNS and not any(p.reserved for p in pins[port])]
    plain = [port for port in whole if not any(pin.converter is not None for pin in pins[port])]
    shared = [port for port in reversed(whole) if port not in plain]
    kept_back = pins[(shared or plain).pop()] if whole else []
    broken = [pin for pin in board.pins if pin.port not in whole and pin.reserved is None]
    loose = [pin for pin in broken if pin.converter is None]
    rows = loose + sorted(kept_back, key=lambda pin: (pin.name in board.bus_pins, -pin.bit))
    return plain + shared, rows + [pin for pin in broken if pin not in loose]
