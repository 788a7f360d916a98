"""A reading as it is typed: what, where, before or after, how much, in which unit."""

from __future__ import annotations

import math

from retrofit.cli.output import Exit, Stop
from retrofit.proving.records.compare import AS_FOUND_LIMITS, Quantity
from retrofit.proving.records.rows import ReadingRow

_WHEN = ("before", "after")


def reading_of(text: str) -> ReadingRow:
    """Return the reading that is meant, as in `supply rail before 12.02 V`; end the command where it is none."""
    words = text.split()
    if len(words) < 5:
        raise _refused(text, "five words or more are needed: what, where, before or after, value, unit")
    what, *place, when, value, unit = words
    if what not in list(Quantity):
        raise _refused(text, f"it begins with {', '.join(Quantity)}")
    if when not in _WHEN:
        raise _refused(text, "before or after stands in front of the value")
    wanted = AS_FOUND_LIMITS[Quantity(what)].unit
    if unit != wanted:
        raise _refused(text, f"{what} is given in {wanted}")
    return ReadingRow(what, " ".join(place), when, _value(text, value), unit)


def _value(text: str, typed: str) -> float:
    try:
        value = float(typed)
    except ValueError:
        raise _refused(text, f"{typed!r} is no number") from None
    if not math.isfinite(value) or value <= 0:
        raise _refused(text, f"{typed} found, more than 0 is allowed")
    return value


def _refused(text: str, why: str) -> Stop:
    return Stop(Exit.USAGE, f'reading {text!r}: {why}; as in "supply rail before 12.02 V"')
