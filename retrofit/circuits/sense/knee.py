"""The least voltage of a diode or a zener at a current, from its printed leakage to its printed voltage."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Knee:
    """Two points of a part: at `low_amps` it has at least `low_volts`, at `amps` and above at least `volts`.

    Below the lower point the voltage is taken as proportional to the current, which is below any curve that bends
    upwards.  Between the points it is a straight line on logarithmic scales.  A sharp part has the same voltage twice.
    """

    low_amps: float
    low_volts: float
    amps: float
    volts: float

    @classmethod
    def sharp(cls, volts: float) -> Knee:
        """Return a part that conducts nothing below `volts`."""
        return cls(1e-12, volts, 1e-12, volts)

    def volts_at(self, amps: float) -> float:
        """Return the least voltage at which `amps` may flow."""
        if amps >= self.amps:
            return self.volts
        if amps <= self.low_amps:
            return self.low_volts * amps / self.low_amps
        return self.low_volts * math.pow(amps / self.low_amps, self._exponent)

    @property
    def _exponent(self) -> float:
        return math.log(self.volts / self.low_volts) / math.log(self.amps / self.low_amps)
