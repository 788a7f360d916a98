"""Choosing the two resistors of a tap: the greatest series resistor, from E24 or else E96, whose partner fits."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import inf, sqrt

from retrofit.circuits.eseries_values import Series, values_between

SERIES_OHMS_LEAST, SERIES_OHMS_MOST = 10e3, 4.7e6
"""Below the least, a line is not merely looked at; above the most, dirt and damp on a board count as resistors; common
practice, no source."""
_PARTNERS_TRIED = 4


@dataclass(frozen=True, slots=True)
class Targets:
    """The levels at the input that a pair must reach, in volts, and the worst line volts that must reach them.

    `high` must be reached from `line_high`, `low` must not be passed from `line_low`; the other end of the pair is at
    `reference`.  `source` is the line's own resistance, in ohms.
    """

    line_high: float
    line_low: float
    high: float
    low: float
    reference: float
    source: float = 0.0


@dataclass(frozen=True, slots=True)
class Pair:
    """Two resistors, in ohms, and the name of the series they come from; `series` is one of `pieces` equal ones."""

    series: float
    lower: float
    from_series: str
    pieces: int = 1


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
    if line_beyond <= 0 and reference_beyond <= 0:
        return inf, 0.0
    if line_beyond > 0:
        return -reference_beyond / line_beyond, inf
    return 0.0, reference_beyond / -line_beyond


def choose_pair(targets: Targets, fits: Callable[[Pair], bool], *, pieces: int = 1) -> Pair | None:
    """Return the pair with the greatest series resistor that `fits`; None when none does.

    E24 is tried first, E96 when E24 holds no pair that fits.  What fits with a great series resistor is taken to fit
    with some small one, so that a hopeless search ends early.
    """
    window = ratio_window(targets)
    if window is None:
        return None
    for series in (Series.E24, Series.E96):
        lowest = values_between(series, SERIES_OHMS_LEAST, 9.99 * SERIES_OHMS_LEAST)
        if _first_fitting(series, lowest, window, targets.source, fits, pieces) is None:
            continue
        values = reversed(values_between(series, SERIES_OHMS_LEAST, SERIES_OHMS_MOST / pieces))
        return _first_fitting(series, values, window, targets.source, fits, pieces)
    return None


def _first_fitting(
    series: Series,
    values: Iterable[float],
    window: tuple[float, float],
    source: float,
    fits: Callable[[Pair], bool],
    pieces: int,
) -> Pair | None:
    pairs = (
        Pair(value, lower, series.name, pieces)
        for value in values
        for lower in _partners(series, pieces * value + source, *window)
    )
    return next(filter(fits, pairs), None)


def _partners(series: Series, series_ohms: float, least: float, greatest: float) -> list[float]:
    """Return a few second resistors inside the window of ratios, those nearest to its middle first."""
    if greatest == inf:
        greatest = max(2 * least, 1.0)
    least = max(least, greatest / 4)
    middle = series_ohms * sqrt(least * greatest)
    found = values_between(series, series_ohms * least, series_ohms * greatest)
    return sorted(found, key=lambda ohms: max(ohms / middle, middle / ohms))[:_PARTNERS_TRIED]
