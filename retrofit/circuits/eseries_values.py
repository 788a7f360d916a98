"""Preferred values of resistors and capacitors: series E12, E24 and E96 of IEC 60063."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from enum import Enum
from functools import cache
from math import floor, inf, log10

_E12 = (10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82)
_E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)
_E96 = tuple(round(100 * 10 ** (step / 96)) for step in range(96))
_TOUCH = 1e-12
"""Relative distance within which a value counts as being the preferred value itself."""


class Series(Enum):
    """A series of preferred values, by the digits of one decade."""

    E12 = _E12
    E24 = _E24
    E96 = _E96


def next_above(series: Series, value: float) -> float:
    """Return the least preferred value not below `value`.  Raises `ValueError` unless finite and positive."""
    return next(candidate for candidate in _around(series, value) if candidate >= value * (1 - _TOUCH))


def next_below(series: Series, value: float) -> float:
    """Return the greatest preferred value not above `value`.  Raises `ValueError` unless finite and positive."""
    return next(candidate for candidate in reversed(_around(series, value)) if candidate <= value * (1 + _TOUCH))


def nearest(series: Series, value: float) -> float:
    """Return the preferred value at the least distance.  Raises `ValueError` unless `value` is finite and positive."""
    return min(_around(series, value), key=lambda candidate: abs(candidate - value))


def values_between(series: Series, least: float, greatest: float) -> tuple[float, ...]:
    """Return the preferred values from `least` to `greatest`, both included, rising.

    Raises `ValueError` unless both are finite and positive.
    """
    values = _decades_values(series, _decade(least), _decade(greatest) + 1)
    return values[bisect_left(values, least * (1 - _TOUCH)) : bisect_right(values, greatest * (1 + _TOUCH))]


def _around(series: Series, value: float) -> tuple[float, ...]:
    """Return the preferred values of the decade of `value` and of its neighbours, rising."""
    decade = _decade(value)
    return _decades_values(series, decade - 1, decade + 1)


def _decade(value: float) -> int:
    if not 0 < value < inf:
        raise ValueError(f"a preferred value is asked for {value:g}, but only finite positive values have one")
    return floor(log10(value))


@cache
def _decades_values(series: Series, first: int, last: int) -> tuple[float, ...]:
    """Return the values of the decades from `first` to `last`, rising."""
    return tuple(value for decade in range(first, last + 1) for value in _decade_values(series, decade))


@cache
def _decade_values(series: Series, decade: int) -> tuple[float, ...]:
    """Return the values of one decade, exact where they are whole numbers."""
    exponent = decade - (2 if series is Series.E96 else 1)
    if exponent >= 0:
        return tuple(float(digits * 10**exponent) for digits in series.value)
    return tuple(digits / 10**-exponent for digits in series.value)
