"""Quantities in words: three significant figures, and the prefix that leaves one to three digits before the point."""

from __future__ import annotations

from decimal import Decimal
from math import isfinite

_PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M"}
"""SI prefixes by their power of ten."""

_TAKES_PREFIX = frozenset(("V", "A", "Ω", "F", "H", "W", "s", "Hz"))
"""Units that stand without a prefix; any other (mA, µs, % of supply) already is what the figure is told in."""


def quantity(value: float, unit: str) -> str:
    """Return a value with its unit: `2.18 MΩ`, `-1 µA`, `13.2 V`, `5 % of supply`; never with an exponent."""
    if not isfinite(value):
        return f"{value} {unit}"
    figures = Decimal(f"{value:.3g}")
    if unit not in _TAKES_PREFIX:
        return f"{figures:f} {unit}"
    power = 0 if not figures else 3 * (figures.adjusted() // 3)
    power = min(max(power, min(_PREFIXES)), max(_PREFIXES))
    return f"{figures.scaleb(-power):f} {_PREFIXES[power]}{unit}"
