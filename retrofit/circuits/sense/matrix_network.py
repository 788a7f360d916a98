"""The network of a diode matrix: its parts, every unknown among them, and its levels, currents and leakage."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.parts import Cable, Diode
from retrofit.circuits.matrix_drive import PinGuard
from retrofit.circuits.precharge import Precharge
from retrofit.circuits.pullup import PULL_UP_OHMS, PULL_UP_TOLERANCE
from retrofit.circuits.result import Span

FORWARD_PER_KELVIN = 2e-3
"""Rise of a diode's forward voltage for each kelvin below 25 °C; from memory."""
LEAKAGE_DOUBLES_KELVIN = 10.0
"""A diode's leakage doubles with so many kelvin; from memory."""

CONSOLE_CELSIUS = Span(0.0, 50.0)
"""Coldest and warmest inside of a console; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Matrix:
    """The matrix as it would be built, every None unknown.

    `row_ohms` is the greatest resistance of a row's driver while it pulls low, `series_ohms` what lies in series with
    a key (contact, wire, protection), `cable_m` the length of a column's cable.  `wait_us` is what the scan waits.
    `row_guard` is set where rows are driven, `precharge` where columns are charged behind each row.
    `most_held` is the most keys held at once, every key where it is None.
    """

    diode: Diode | None
    cable: Cable
    rows: int = 8
    columns: int = 8
    row_ohms: float | None = None
    series_ohms: Span | None = None
    cable_m: float | None = None
    wait_us: float | None = None
    celsius: Span = CONSOLE_CELSIUS
    most_held: int | None = None
    pull_up_ohms: float = PULL_UP_OHMS
    tolerance: float = PULL_UP_TOLERANCE
    row_guard: PinGuard | None = None
    precharge: Precharge | None = None

    @property
    def low_ohms(self) -> float | None:
        """The greatest resistance between a row and low: its driver, and the resistor where rows are driven."""
        guard = 0.0 if self.row_guard is None else self.row_guard.ohms_most
        return None if self.row_ohms is None else self.row_ohms + guard

    @property
    def pull_up(self) -> Span:
        """The columns' pull-up at its tolerance."""
        return Span.around(self.pull_up_ohms, self.tolerance)

    @property
    def leaking(self) -> int:
        """The most diodes that pull a column down with idle rows adrift: each needs a held key of its own.

        A row that is driven high leaks upwards.
        """
        if self.row_guard is not None:
            return 0
        crossings = (self.rows - 1) * (self.columns - 1)
        return crossings if self.most_held is None else min(crossings, self.most_held)


def key_amps(supply: float, pull_up: float, series: float, forward: float, low: float) -> float:
    """Return the current of one held key: (VDD − VF − Vol)/(Rpu + Rs)."""
    return (supply - forward - low) / (pull_up + series)


def column_volts(amps: float, series: float, forward: float, low: float) -> float:
    """Return the level of a column whose key is held: Vol + VF + I·Rs."""
    return low + forward + amps * series


def driven_amps(supply: float, pull_up: float, series: float, forward: float, row_ohms: float, columns: int) -> float:
    """Return the current of each key of a row that is held whole, its driver sinking them all through `row_ohms`."""
    return (supply - forward) / (pull_up + series + columns * row_ohms)


def row_amps(amps: float, columns: int) -> float:
    """Return what a row's driver sinks with the whole row held: C·I."""
    return columns * amps


def largest_series_ohms(supply: float, pull_up: float, forward: float, low: float, low_limit: float) -> float:
    """Return the largest series resistance that keeps a column below a limit: (Vlim − Vf − Vol)·Rpu/(VDD − Vlim)."""
    return (low_limit - forward - low) * pull_up / (supply - low_limit)


def leaked_volts(leakage_a: float, rows: int, pull_up: float) -> float:
    """Return how far the leakage of the other rows' diodes pulls a column down: (R − 1)·IR·Rpu."""
    return (rows - 1) * leakage_a * pull_up


def leakage_at(leakage_a: float, celsius: float) -> float:
    """Return a diode's leakage at a temperature from that at 25 °C."""
    return float(leakage_a * 2 ** ((celsius - 25.0) / LEAKAGE_DOUBLES_KELVIN))


def forward_volts(diode: Diode, amps: float, celsius: float) -> float:
    """Return the greatest forward voltage at a current: printed at 25 °C, more when colder.

    Raises `CatalogueError` above the printed currents.
    """
    return diode.forward_max(1e3 * amps) + max(0.0, FORWARD_PER_KELVIN * (25.0 - celsius))
