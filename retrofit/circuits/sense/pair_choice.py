"""Choosing the two resistors of a tap: the greatest series resistor, from E24 or else E96, whose partner fits."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import inf, sqrt

from retrofit.circuits.sense.eseries_values import E24, E96, next_above, next_below

SERIES_OHMS_LEAST, SERIES_OHMS_MOST = 10e3, 4.7e6
"""Below the least, a line is not merely looked at; above the most, dirt and damp on a board count as resistors; common
practice, no source."""
_PARTNERS_TRIED = 4


@dataclass(frozen=True, slots=True)
class Targets:
    """The levels at the input that a pair must reach, in volts, and the worst line volts that must reach them.

    `high` must be reached from `line_high`, `low` must not be passed from `line_low`; the other end of the pair is at
    `reference`.
    """

    line_high: float
    line_low: float
    high: float
    low: float
    reference: float


@dataclass(frozen=True, slots=True)
class Pair:
    """Two resistors, in ohms, and the name of the series they come from."""

    series: float
    lower: float
    from_series: str


def ratio_window(targets: Targets) -> tuple[float, float] | None:
    """Return the least and the greatest R2/R1 that reach both levels without tolerance; None when none does.

    With r = R2/R1 the level is (V·r + Vref)/(r + 1), between the reference (r = 0) and the line (r infinite).
    """
    windows = (
        _reaching(targets.line_high - targets.high, targets.reference - targets.high),
        _reaching(targets.low - targets.line_low, targets.low - targets.reference),
    )
    least, greatest = max(window[0] for window in windows), min(window[1] for window in windows)
    return (least, greatest) if least <= greatest else None


def _reaching(line_beyond: float, reference_beyond: float) -> tuple[float, float]:
    """Return the ratios at which a level is on the right side; each end is beyond the level by so many volts."""
    if line_beyond >= 0 and reference_beyond >= 0:
        return 0.0, inf
    if line_beyond < 0 and reference_beyond < 0:
        return inf, 0.0
    if line_beyond > 0:
        return -reference_beyond / line_beyond, inf
    return 0.0, reference_beyond / -line_beyond


def choose_pair(targets: Targets, fits: Callable[[float, float], bool], *, most: float) -> Pair | None:
    """Return the pair with the greatest series resistor, not above `most` ohms, that `fits`; None when none does.

    E24 is tried first, E96 when E24 holds no pair that fits.
    """
    window = ratio_window(targets)
    if window is None:
        return None
    for name, values in (("E24", E24), ("E96", E96)):
        for series in _downward(values, min(most, SERIES_OHMS_MOST)):
            for lower in _partners(values, series, *window):
                if fits(series, lower):
                    return Pair(series, lower, name)
    return None


def _downward(values: tuple[int, ...], most: float) -> Iterator[float]:
    value = next_below(values, most) if most >= SERIES_OHMS_LEAST else 0.0
    while value >= SERIES_OHMS_LEAST:
        yield value
        value = next_below(values, value * 0.999)


def _partners(values: tuple[int, ...], series: float, least: float, greatest: float) -> list[float]:
    """Return a few second resistors inside the window of ratios, those nearest to its middle first."""
    if greatest == inf:
        greatest = max(2 * least, 1.0)
    least = max(least, greatest / 4)
    middle = series * sqrt(least * greatest)
    lower, found = next_above(values, series * least), []
    while lower <= series * greatest:
        found.append(lower)
        lower = next_above(values, lower * 1.001)
    return sorted(found, key=lambda ohms: max(ohms / middle, middle / ohms))[:_PARTNERS_TRIED]
