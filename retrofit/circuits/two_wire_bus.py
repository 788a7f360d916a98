"""Expanders on a two-wire bus: the pull-ups that it allows, the time of a read, and how many buses it takes.

The bus is that of NXP UM10204: levels 0.3 and 0.7 of the supply, 0.4 V at 3 mA.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log

LOW_VOLTS, SINK_AMPS = 0.4, 3e-3
"""Greatest low level and the current at which it is given (UM10204, standard and fast mode)."""
MOST_FARADS = 400e-12
"""Greatest bus capacitance (UM10204, standard and fast mode)."""
ADDRESSES_OF_A_BUS = 8
"""Expanders of one kind that a bus tells apart; common practice, no source."""
_START_BITS = 3
_BITS_OF_A_BYTE = 9


@dataclass(frozen=True, slots=True)
class BusSpeed:
    """A mode of the bus: its clock and its greatest rise time."""

    hertz: float
    rise_s: float


STANDARD_MODE = BusSpeed(100e3, 1000e-9)
FAST_MODE = BusSpeed(400e3, 300e-9)


def pull_up_least(supply: float) -> float:
    """Return the least pull-up: (VDD − 0.4 V)/3 mA."""
    return (supply - LOW_VOLTS) / SINK_AMPS


def pull_up_most(rise_s: float, farads: float) -> float:
    """Return the greatest pull-up that rises from 0.3 to 0.7 of the supply in time: tr/(ln(7/3)·C)."""
    return rise_s / (log(7 / 3) * farads)


def pull_up_window(supply: float, farads: float, speed: BusSpeed) -> tuple[float, float] | None:
    """Return the least and greatest pull-up; None when the bus has too much capacitance for any."""
    least, most = pull_up_least(supply), pull_up_most(speed.rise_s, farads)
    return (least, most) if least <= most and farads <= MOST_FARADS else None


def read_bits(data_bytes: int, address_bytes: int = 3) -> int:
    """Return the bits of a register read: address, register, address again, data, with start, restart and stop."""
    return (address_bytes + data_bytes) * _BITS_OF_A_BYTE + _START_BITS


def read_s(data_bytes: int, hertz: float) -> float:
    """Return the time of one read."""
    return read_bits(data_bytes) / hertz


def expanders(points: int, bits: int = 16) -> int:
    """Return how many expanders a number of points needs."""
    return ceil(points / bits)


def buses(points: int, bits: int = 16) -> int:
    """Return how many buses these expanders need."""
    return ceil(expanders(points, bits) / ADDRESSES_OF_A_BUS)
