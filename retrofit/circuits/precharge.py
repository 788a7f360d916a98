"""Charging the columns of a matrix for a moment behind each row, so that they need not wait for their pull-ups.

A row that is read holds the columns of its held keys low.  Its pull-up then raises such a column slowly; driven through
a small resistor the column is up at once, and the next row only has to wait until its own held keys have pulled theirs
down.  While a row floats, a held key lets its column charge the row's wire too.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from retrofit.catalogue.parts import Board, Cable, Diode
from retrofit.circuits.matrix_drive import PinGuard, column_guard
from retrofit.circuits.pullup import CONTACT_OHMS_OLD
from retrofit.circuits.quantity import quantity
from retrofit.circuits.settle import (
    ASSUMED_CABLE_M,
    WAIT_FACTOR,
    column_capacitance_f,
    fall_time_s,
    rise_time_s,
    wait_us,
)


@dataclass(frozen=True, slots=True)
class ChargedMatrix:
    """The lines of a matrix as charging finds them; `contact_ohms` is None while the contacts were not measured.

    `row_ohms` is the greatest resistance of a row's driver with its own resistor, `rows_float` tells whether a row that
    is not read floats.
    """

    board: Board
    diode: Diode
    cable: Cable
    cable_m: float | None
    rows: int
    columns: int
    pull_up_ohms: float
    row_ohms: float
    contact_ohms: float | None
    rows_float: bool

    @property
    def cable_f(self) -> float:
        """The capacitance of one wire's cable."""
        length_m = ASSUMED_CABLE_M if self.cable_m is None else self.cable_m
        return length_m * self.cable.picofarads_per_metre.greatest * 1e-12

    @property
    def column_f(self) -> float:
        """The capacitance of a column: cable, a diode for each row, pin."""
        return self._line_f(self.rows)

    @property
    def charged_f(self) -> float:
        """What charging a column fills: itself, and the row of a held key where that floats."""
        return self.column_f + (self._line_f(self.columns) if self.rows_float else 0.0)

    def _line_f(self, crossings: int) -> float:
        diode_f, pin_f = self.diode.figures["capacitance"].greatest, self.board.figures["pin_capacitance"].greatest
        return column_capacitance_f(self.cable_f, crossings, diode_f, pin_f)


@dataclass(frozen=True, slots=True)
class Precharge:
    """How long the columns are driven behind each row, and how long the next row waits; both whole microseconds.

    `guard` is the resistor in each column, `fall_us` the time in which a held key pulls its charged column low.
    """

    charge_us: float
    settle_us: float
    guard: PinGuard
    fall_us: float
    corner: str

    @property
    def row_us(self) -> float:
        """What a row waits in all."""
        return self.charge_us + self.settle_us


def precharge(matrix: ChargedMatrix) -> Precharge:
    """Return the charging of a matrix, each time three times what its slowest line needs (common practice, no source).

    Raises `ValueError` where a held key pulls its column no lower than the input's low level.
    """
    guard = column_guard(matrix.board, matrix.columns)
    charge = rise_time_s(guard.ohms_most, matrix.charged_f, matrix.board.figures["vih_fraction"].least)
    fall = _fall_s(matrix)
    corner = f"{quantity(guard.ohms_most, 'Ω')} and {1e12 * matrix.charged_f:.0f} pF, then {1e6 * fall:.2g} µs to fall"
    return Precharge(
        charge_us=float(ceil(1e6 * WAIT_FACTOR * charge)),
        settle_us=float(ceil(wait_us(1e6 * fall))),
        guard=guard,
        fall_us=1e6 * fall,
        corner=corner,
    )


def _fall_s(matrix: ChargedMatrix) -> float:
    """Return the time in which a held key pulls its charged column down to the input's low level.

    The diode's drop is counted in full to the end.  The lower the supply, the nearer is that level.
    """
    supply = matrix.board.figures["supply"].least
    low = matrix.board.figures["vil_fraction"].greatest * supply
    through = matrix.row_ohms + (CONTACT_OHMS_OLD if matrix.contact_ohms is None else matrix.contact_ohms)
    forward = matrix.diode.forward_max(1e3 * supply / matrix.pull_up_ohms)
    settled = forward + (supply - forward) * through / (through + matrix.pull_up_ohms)
    if settled >= low:
        found, limit = quantity(settled, "V"), quantity(low, "V")
        raise ValueError(f"a held key pulls its column to {found}, and {limit} is the most that reads low")
    ohms = through * matrix.pull_up_ohms / (through + matrix.pull_up_ohms)
    return fall_time_s(ohms, matrix.column_f, supply, settled, low)
