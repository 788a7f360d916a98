"""Resistors that keep the pins of a matrix whole whatever is wrong with its keys, diodes and wires.

With rows that are driven, a shorted diode joins two drivers as soon as two keys of its column are held: the row that is
read sinks what every other row of that column sends.  While columns are charged, a wire that is shorted joins their
drivers to it.  A resistor in each row, or in each column, then carries what the drivers would.
"""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.parts import Board
from retrofit.circuits.eseries_values import Series, next_above
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result

RESISTOR_TOLERANCE = 0.05
"""Of the resistors in rows and columns."""


@dataclass(frozen=True, slots=True)
class PinGuard:
    """A resistor in each row or column, and the greatest current of a pin in the worst of the faults."""

    ohms: float
    pin_current: Result

    @property
    def ohms_least(self) -> float:
        """The resistor at the lower end of its tolerance."""
        return self.ohms * (1 - RESISTOR_TOLERANCE)

    @property
    def ohms_most(self) -> float:
        """The resistor at the upper end of its tolerance."""
        return self.ohms * (1 + RESISTOR_TOLERANCE)


def driver_ohms(board: Board) -> float:
    """Return the greatest resistance of a pin that pulls low: its low output over the current that goes with it."""
    return board.figures["low_output"].greatest / board.figures["low_output_current"].greatest


def row_guard(board: Board, rows: int) -> PinGuard:
    """Return the resistor in each driven row.

    The worst: all keys of a column held and all their diodes shorted; drivers, contacts and wires without resistance.
    The row that is read then sinks VDD/(R + R/(rows - 1)).
    """
    if rows < 2:
        raise ValueError(f"{rows} rows found: two rows at least can meet in a column")
    share = 1 + 1 / (rows - 1)
    return _guard(board, share, f"all {rows} keys of a column held, all their diodes shorted")


def column_guard(board: Board, columns: int) -> PinGuard:
    """Return the resistor in each column that is charged.

    The worst for a pin: a row that is low by mistake while all its keys are held sinks what all columns send,
    columns·VDD/R.  A column or row whose wire is shorted to our return draws less, VDD/R from each pin.
    """
    return _guard(board, 1 / columns, f"a row low by mistake, its {columns} keys held")


def _guard(board: Board, share: float, fault: str) -> PinGuard:
    """Return the resistor of series E24 through which VDD/(share·R) stays within what a pin bears."""
    volts, limit = board.figures["supply"].greatest, board.figures["pin_current"].greatest
    ohms = next_above(Series.E24, volts / limit / share / (1 - RESISTOR_TOLERANCE))
    amps = volts / (share * ohms * (1 - RESISTOR_TOLERANCE))
    corner = f"supply {volts:g} V, {quantity(ohms, 'Ω')} less {RESISTOR_TOLERANCE:.0%}, {fault}"
    return PinGuard(ohms, Result(1e3 * amps, 1e3 * limit, "mA", at_least=False, corner=corner))
