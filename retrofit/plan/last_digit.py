"""The weight of the last digit that somebody wrote down: 0.1 V for `12,4 V`, 1 mV for `330 mV`."""

from __future__ import annotations

import re
from math import floor, log10

from retrofit.survey.bench import Reading

_PLAIN = re.compile(r"[+\-−]?\s*([0-9]+)(?:[.,]([0-9]+))?(?![0-9]*[eE])")
_SPLIT_BY_LETTER = re.compile(r"[+\-−]?\s*[0-9]+[A-Za-zΩµμ][0-9]+")
_DIGITS_OF_A_METER = 3


def last_digit(reading: Reading) -> float:
    """Return the weight of the last written digit in the base unit.

    Where the spelling does not show it (powers of ten, a letter for the point) the display of a meter with three
    digits is taken.  Raises `ValueError` when the reading has no value.
    """
    if reading.value is None:
        raise ValueError(f"{reading.raw!r} has no digits")
    value = abs(reading.value)
    match = _PLAIN.match(reading.raw.strip())
    if match is None or _SPLIT_BY_LETTER.match(reading.raw.strip()):
        return 10.0 ** (floor(log10(value)) + 1 - _DIGITS_OF_A_METER) if value else 0.0
    decimals = match[2] or ""
    written = float(f"{match[1]}.{decimals or '0'}")
    scale = value / written if written else 1.0
    return scale * 10.0 ** -len(decimals)
