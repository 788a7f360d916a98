"""Copper wire: American wire gauge to size and resistance."""

from __future__ import annotations

from math import pi

COPPER_OHM_MM2_PER_METRE = 1 / 58
"""Annealed copper at 20 °C: 58 MS/m (IEC 60028)."""


def awg_diameter_mm(gauge: int) -> float:
    """Return the diameter of a solid wire of an American gauge (ASTM B258: 39 steps from 0.005 to 0.46 inch)."""
    return float(0.127 * 92 ** ((36 - gauge) / 39))


def awg_area_mm2(gauge: int) -> float:
    """Return the copper area of an American gauge."""
    return pi / 4 * awg_diameter_mm(gauge) ** 2


def wire_ohms(length_m: float, area_mm2: float) -> float:
    """Return the resistance of one conductor at 20 °C; a circuit has two, out and back."""
    return COPPER_OHM_MM2_PER_METRE * length_m / area_mm2
