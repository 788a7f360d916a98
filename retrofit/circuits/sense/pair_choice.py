"""Choosing the two resistors of a tap: the greatest series resistor, from E24 or else E96, whose partner fits."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import inf, sqrt

from retrofit.circuits.eseries_values import Series, values_between

SERIES_OHMS_LEAST, SERIES_OHMS_MOST = 10e3, 2.2e6
"""Below the least, a line is not merely looked at; above the most, dirt and damp on a board count as resistors; common
practice, no source."""
_PARTNERS_TRIED = 4
_WIDEST = 4.0
"""A window of ratios is searched no wider than this, from the end with the lesser load of leakage."""


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
    """Two resistors, in ohms, and the name of the series they come from; `series` is one of `pieces` equal ones."""

    series: float
    lower: float
    from_series: str
    pieces: int = 1


@dataclass(frozen=True, slots=True)
class Conditions:
    """What narrows the choice: the line's own resistance (counted with R1), the input's leakage, the tolerance."""

    source: float
    leakage_a: float
    tolerance: float


def ratio_window(targets: Iterable[Targets], shift_volts: float = 0.0) -> tuple[float, float] | None:
    """Return the least and the greatest R2/R1 that reach every level without tolerance; None when none does.

    With r = R2/R1 the level is (V·r + Vref)/(r + 1), between the reference (r = 0) and the line (r infinite).  Leakage
    I into the input acts as though the line were shifted by I·R1: `shift_volts`, taken the wrong way for each level.
    """
    windows = [
        window
        for wanted in targets
        for window in (
            _reaching(wanted.line_high - shift_volts - wanted.high, wanted.reference - wanted.high),
            _reaching(wanted.low - wanted.line_low - shift_volts, wanted.low - wanted.reference),
        )
    ]
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


def choose_pair(
    targets: Sequence[Targets], fits: Callable[[Pair], bool], conditions: Conditions, *, pieces: int = 1
) -> Pair | None:
    """Return the pair with the greatest series resistor that `fits`; None when none does.

    The series resistor is made of `pieces` equal ones.  E24 is tried first, E96 when E24 holds no pair that fits.
    """
    pairs = (
        Pair(value, lower, series.name, pieces)
        for series in (Series.E24, Series.E96)
        for value in reversed(values_between(series, SERIES_OHMS_LEAST, SERIES_OHMS_MOST / pieces))
        for lower in _partners(series, targets, pieces * value, conditions)
    )
    return next(filter(fits, pairs), None)


def _partners(series: Series, targets: Sequence[Targets], series_ohms: float, conditions: Conditions) -> list[float]:
    """Return a few second resistors inside the window of ratios, those nearest to its middle first."""
    ohms, spread = series_ohms + conditions.source, (1 + conditions.tolerance) / (1 - conditions.tolerance)
    window = ratio_window(targets, conditions.leakage_a * ohms * (1 + conditions.tolerance))
    if window is None:
        return []
    least, greatest = window[0] * spread, window[1] / spread
    greatest = min(greatest, _WIDEST * least) if least else min(greatest, 1.0)
    least = max(least, greatest / _WIDEST)
    middle = ohms * sqrt(least * greatest)
    found = values_between(series, ohms * least, ohms * greatest) if least <= greatest else ()
    return sorted(found, key=lambda value: max(value / middle, middle / value))[:_PARTNERS_TRIED]
