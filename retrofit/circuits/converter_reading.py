"""What a shoe's reading on a converter is good for: its span, its noise, its true steps, and where it is broken."""

from __future__ import annotations

import math
from dataclasses import dataclass

from retrofit.survey.contacts import ShoePoint

FINE_STEPS = 4 * 128
"""True steps from which a pair of controllers says more than a single one; common practice, no source."""
BREAK_MARGIN = 0.03
"""Part of full scale beyond the measured ends where no whole shoe reads; our own choice, no source."""


@dataclass(frozen=True, slots=True)
class ShoeReading:
    """Counts between the two ends of a shoe's travel, and the noise peak to peak; None is unknown."""

    span_counts: float | None
    noise_counts: float | None

    @property
    def true_steps(self) -> int | None:
        """Steps that stand out of the noise; a converter cannot tell less than one count.  None while unknown."""
        if self.span_counts is None or self.noise_counts is None:
            return None
        return math.floor(self.span_counts / max(1.0, self.noise_counts))

    @property
    def true_bits(self) -> float | None:
        """The same in bits."""
        return math.log2(self.true_steps) if self.true_steps else None


def shoe_reading(shoe: ShoePoint, converter_bits: int, reference_volts: float) -> ShoeReading:
    """Return what a shoe reads on a converter; give the least reference, at which volts of noise count most."""
    return ShoeReading(_span(shoe, converter_bits), noise_counts(shoe, converter_bits, reference_volts))


def noise_counts(shoe: ShoePoint, converter_bits: int, reference_volts: float) -> float | None:
    """Return the noise of a shoe in counts, peak to peak; None while it is unknown."""
    if shoe.noise_counts is not None:
        return float(shoe.noise_counts)
    if shoe.noise.value is None:
        return None
    return abs(float(shoe.noise.value)) / reference_volts * float(1 << converter_bits)


def measured_ends(shoe: ShoePoint) -> tuple[float, float] | None:
    """Return the least and the greatest reading of a shoe's travel; None while an end is unknown."""
    if shoe.curve:
        readings = [point.reading for point in shoe.curve]
        return min(readings), max(readings)
    if shoe.closed_reading is None or shoe.open_reading is None:
        return None
    return min(shoe.closed_reading, shoe.open_reading), max(shoe.closed_reading, shoe.open_reading)


def _span(shoe: ShoePoint, converter_bits: int) -> float | None:
    ends = measured_ends(shoe)
    return None if ends is None else (ends[1] - ends[0]) * (2**converter_bits - 1)


def whole_readings(shoe: ShoePoint) -> tuple[float, float]:
    """Return the least and the greatest reading of a shoe whose wires are whole, as fractions of full scale.

    Where an end is unknown, or as near to the end of the converter's range as the margin, a break is not told from a
    position; the bound then is the end of the range.
    """
    ends = measured_ends(shoe)
    return (0.0, 1.0) if ends is None else with_break_margin(*ends)


def with_break_margin(least: float, greatest: float) -> tuple[float, float]:
    """Return the bounds beyond which readings are those of a broken or shorted wire."""
    return max(0.0, least - BREAK_MARGIN), min(1.0, greatest + BREAK_MARGIN)
