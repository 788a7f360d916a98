"""Charging and discharging of a line through a resistor, and the wait that a matrix row needs."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from retrofit.catalogue.parts import Board, Cable, Diode
from retrofit.circuits.quantity import quantity

WAIT_FACTOR = 3.0
"""A wait is this many times the time to the threshold; common practice, no source."""
LEAST_WAIT_US = 5.0
"""And never shorter than this; common practice, no source."""
ASSUMED_CABLE_M = 3.0
"""The length that stands, marked, for a cable that was not measured."""


@dataclass(frozen=True, slots=True)
class SettleWait:
    """How long a matrix column takes to rise and how long to wait for it."""

    capacitance_pf: float
    to_threshold_us: float
    wait_us: float
    corner: str
    assumptions: tuple[str, ...]


def rise_time_s(ohms: float, farads: float, fraction: float) -> float:
    """Return the time from 0 V to a fraction of the supply through a resistor: −ln(1 − fraction)·R·C."""
    return -log(1 - fraction) * ohms * farads


def fall_time_s(ohms: float, farads: float, volts_from: float, volts_end: float, volts_to: float) -> float:
    """Return the time from one voltage to another on the way to `volts_end`: R·C·ln((from − end)/(to − end))."""
    return ohms * farads * log((volts_from - volts_end) / (volts_to - volts_end))


def column_capacitance_f(cable_f: float, rows: int, diode_f: float, pin_f: float) -> float:
    """Return the capacitance of a matrix column: its cable, one diode for each row, and the board's pin."""
    return cable_f + rows * diode_f + pin_f


def wait_us(to_threshold_us: float) -> float:
    """Return the wait for a line that needs this long to its threshold."""
    return max(LEAST_WAIT_US, WAIT_FACTOR * to_threshold_us)


def matrix_settle(
    board: Board,
    diode: Diode,
    cable: Cable,
    *,
    cable_m: float | None,
    rows: int = 8,
    pull_up_ohms: float | None = None,
) -> SettleWait:
    """Return the wait between driving a row and reading the columns.

    The worst is a column that rises after another row held it low.  `pull_up_ohms` is the greatest value of a
    resistor fitted to each column; without one the board's own weakest pull-up is taken.
    """
    assumed = () if cable_m is not None else (f"the cable to the matrix is taken as {ASSUMED_CABLE_M:g} m long",)
    cable_f = (ASSUMED_CABLE_M if cable_m is None else cable_m) * cable.picofarads_per_metre.greatest * 1e-12
    diode_f, pin_f = diode.figures["capacitance"].greatest, board.figures["pin_capacitance"].greatest
    farads = column_capacitance_f(cable_f, rows, diode_f, pin_f)
    ohms = board.figures["pull_up"].greatest if pull_up_ohms is None else pull_up_ohms
    to_threshold_us = 1e6 * rise_time_s(ohms, farads, board.figures["vih_fraction"].least)
    corner = f"pull-up {quantity(ohms, 'Ω')}, {farads * 1e12:.0f} pF"
    return SettleWait(farads * 1e12, to_threshold_us, wait_us(to_threshold_us), corner, assumed)
