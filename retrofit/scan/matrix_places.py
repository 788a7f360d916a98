"""Places on diode matrices of the board's own pins: active-low rows, columns on one whole port.

Position p of a group lies on its row p // columns at column p % columns.  Which pins a matrix gets follows from its
number alone as long as those pins are free, so that a matrix keeps its pins when the job grows.
"""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.catalogue.parts import Board, Pin
from retrofit.scan.addresses import Address, MatrixAddress
from retrofit.scan.layout import Source
from retrofit.scan.placing import Objection, Placing
from retrofit.scan.requests import GroupRequest

ROWS = 8
"""The most rows of one matrix in the firmware's table."""
COLUMNS = 8
"""Columns are read as one port."""


class MatrixPlaces:
    """Rows for groups, and the pins behind them.

    `column_ports` maps the number of each matrix to its port, `row_pins` to the pins of its rows from row 0.
    """

    def __init__(self, placing: Placing) -> None:
        self._placing = placing
        self.column_ports: dict[int, str] = {}
        self.row_pins: dict[int, list[str]] = {}
        self._ports = _whole_ports(placing.board)
        self._row_pool = _row_pool(placing.board, self._ports)

    def admit(self, address: Address) -> Objection | None:
        """Accept a crossing for which the board has pins, and keep those pins."""
        within = isinstance(address, MatrixAddress) and address.row < ROWS and address.column < COLUMNS
        if within and isinstance(address, MatrixAddress) and self._open(address.matrix, address.row):
            return None
        return Objection(
            found=f"{address} finds no pins on this board",
            allowed=f"{len(self._ports)} ports can carry columns, for {ROWS} rows of {COLUMNS} columns each",
            remedy="wire it to a matrix that exists, or put the group on the chain",
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
        when the board has no pins for that it takes any row that is left.
        """
        rows = -(-needed // request.matrix_columns)
        for matrix in self._candidates(request.group, min(rows, ROWS)):
            row = next(self._free_rows(matrix), None)
            if row is not None and self._open(matrix, row):
                return [MatrixAddress(matrix, row, column) for column in range(request.matrix_columns)]
        return []

    def _candidates(self, group: str, rows: int) -> Iterator[int]:
        yield from {int(matrix): None for matrix, _ in self._placing.lanes_of(group, Source.MATRIX)}
        known = sorted(self.column_ports)
        yield from (matrix for matrix in known if len(list(self._free_rows(matrix))) >= rows)
        yield next(number for number in range(1, len(known) + 2) if number not in self.column_ports)
        yield from known

    def _free_rows(self, matrix: int) -> Iterator[int]:
        return (row for row in range(ROWS) if (Source.MATRIX, str(matrix), row) not in self._placing.owners)

    def _open(self, matrix: int, row: int) -> bool:
        """Keep the pins of a matrix up to and with a row; False, and nothing kept, when the board has too few."""
        pins, ports = dict(self._placing.pins), dict(self.column_ports)
        rows = {number: list(names) for number, names in self.row_pins.items()}
        if self._open_columns(matrix) and all(self._open_row(matrix, number) for number in range(row + 1)):
            return True
        self._placing.pins, self.column_ports, self.row_pins = pins, ports, rows
        return False

    def _open_columns(self, matrix: int) -> bool:
        if matrix in self.column_ports:
            return True
        preferred = self._ports[matrix - 1 : matrix] if matrix >= 1 else []
        port = next((port for port in [*preferred, *self._ports] if self._port_is_free(port)), None)
        if port is None or matrix < 1:
            return False
        self.column_ports[matrix] = port
        for pin in self._placing.port_pins(port):
            self._placing.pins[pin.name] = f"matrix {matrix} column {pin.bit}"
        return True

    def _port_is_free(self, port: str) -> bool:
        return all(self._placing.is_free(pin) for pin in self._placing.port_pins(port))

    def _open_row(self, matrix: int, row: int) -> bool:
        pins = self.row_pins.setdefault(matrix, [])
        if row < len(pins):
            return True
        place = (matrix - 1) * ROWS + row
        choices = [*self._row_pool[place : place + 1], *self._row_pool]
        pin = next((pin for pin in choices if self._placing.is_free(pin)), None)
        if pin is None:
            return False
        pins.append(pin.name)
        self._placing.pins[pin.name] = f"matrix {matrix} row {row}"
        return True


def _whole_ports(board: Board) -> list[str]:
    """Return the ports without a reserved pin, those that the converter does not share first."""
    pins = {port: [pin for pin in board.pins if pin.port == port] for port in board.ports}
    whole = [port for port in board.ports if len(pins[port]) == 8 and not any(pin.reserved for pin in pins[port])]
    plain = [port for port in whole if not any(pin.converter is not None for pin in pins[port])]
    return plain + [port for port in reversed(whole) if port not in plain]


def _row_pool(board: Board, whole_ports: list[str]) -> list[Pin]:
    """Return the pins that rows may use: those of broken ports first, then whole ports from the last choice on."""
    broken = [pin for pin in board.pins if pin.port not in whole_ports and pin.reserved is None]
    whole = [pin for port in reversed(whole_ports) for pin in board.pins if pin.port == port]
    return broken + whole
