"""Copper wire by gauge: what it drops and what it may carry; fuses of the preferred ratings."""

from __future__ import annotations

from math import pi

from retrofit.catalogue.wire import COPPER_OHM_MM2_PER_METRE

GAUGES = (16, 18, 20, 22, 24, 26, 28, 30)
"""American gauges that are sold as hook-up wire, thickest first."""
CIRCULAR_MILS_PER_AMP = 700.0
"""Copper that a wire in a bundle wants for each ampere (Handbook of Electronic Tables and Formulas, rule of thumb)."""
COPPER_PER_KELVIN = 0.00393
"""Relative rise of copper's resistance for each kelvin above 20 °C; from memory."""
HOTTEST_WIRE_CELSIUS = 60.0
"""Warmest that a conductor is taken to be; common practice, no source."""
FUSE_AMPS = (
    *(0.032, 0.040, 0.050, 0.063, 0.080, 0.100, 0.125, 0.160, 0.200, 0.250, 0.315, 0.400, 0.500, 0.630, 0.800),
    *(1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0),
)
"""Ratings of miniature fuses, IEC 60127-2 (5 x 20 mm): the series R10."""

_MILLIMETRES_PER_MIL = 0.0254


def conductor_ohms(length_m: float, area_mm2: float, celsius: float = 20.0) -> float:
    """Return the resistance of one conductor at a temperature; a circuit has two, out and back."""
    hotter = 1 + COPPER_PER_KELVIN * (celsius - 20.0)
    return COPPER_OHM_MM2_PER_METRE * length_m / area_mm2 * hotter


def wire_limit_amps(area_mm2: float) -> float:
    """Return what a wire of a copper area may carry in a bundle; a circular mil is the area of a wire of one mil."""
    return area_mm2 * 4 / pi / _MILLIMETRES_PER_MIL**2 / CIRCULAR_MILS_PER_AMP
