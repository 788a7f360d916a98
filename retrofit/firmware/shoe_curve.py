"""From measured ends of a shoe's travel to the curve that the firmware follows: converter counts to values.

The curve rises in counts and is held flat outside its first and last point; that is what makes the dead zones.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from retrofit.survey.contacts import ShoePoint

DEAD_ZONE = 0.04
"""Part of the span at each end where the value does not change (3 to 5 %: common practice, no source)."""

VALUE_MAX = 127
POINTS_MIN = 2
POINTS_MAX = 8
HYSTERESIS_COUNTS_MAX = 255


class ShoeCurveError(ValueError):
    """A shoe's readings give no curve: what was found, what is allowed and what to do."""

    def __init__(self, found: str, allowed: str, remedy: str) -> None:
        super().__init__(f"{found}; {allowed}; {remedy}")
        self.found, self.allowed, self.remedy = found, allowed, remedy


@dataclass(frozen=True, slots=True)
class ShoeCurve:
    """Points of the curve in rising converter counts, and how far a reading must move to count as movement."""

    counts: tuple[int, ...]
    values: tuple[int, ...]
    hysteresis_counts: int


def shoe_curve(shoe: ShoePoint, converter_bits: int) -> ShoeCurve:
    """Return the curve of a shoe on a converter of this many bits.

    A measured curve is taken as it stands.  Otherwise the closed end gives 0 and the open end 127, with a dead zone at
    each; an end that was not measured is taken as the end of the converter's range (for one unknown end, the one
    farther from the known reading).  Raises `ShoeCurveError` when the ends are too close to tell apart.
    """
    full_scale = 2**converter_bits - 1
    points = _measured(shoe, full_scale) if shoe.curve else _from_ends(*_ends(shoe), full_scale)
    counts = tuple(count for count, _ in points)
    values = tuple(value for _, value in points)
    _check(counts)
    return ShoeCurve(counts, values, _hysteresis(counts, values))


def _measured(shoe: ShoePoint, full_scale: int) -> list[tuple[int, int]]:
    return sorted((round(point.reading * full_scale), point.value) for point in shoe.curve)


def _ends(shoe: ShoePoint) -> tuple[float, float]:
    closed, opened = shoe.closed_reading, shoe.open_reading
    if closed is None:
        closed = 0.0 if opened is None else _far_end(opened)
    return closed, _far_end(closed) if opened is None else opened


def _far_end(reading: float) -> float:
    return 1.0 if reading <= 0.5 else 0.0


def _from_ends(closed: float, opened: float, full_scale: int) -> list[tuple[int, int]]:
    dead = DEAD_ZONE * (opened - closed)
    return sorted([(round((closed + dead) * full_scale), 0), (round((opened - dead) * full_scale), VALUE_MAX)])


def _check(counts: tuple[int, ...]) -> None:
    if not POINTS_MIN <= len(counts) <= POINTS_MAX:
        raise ShoeCurveError(
            f"the curve has {len(counts)} point(s)",
            f"{POINTS_MIN} to {POINTS_MAX} are allowed",
            "measure more of the travel",
        )
    for lower, upper in pairwise(counts):
        if lower == upper:
            raise ShoeCurveError(
                f"two points of the travel read {lower} converter counts",
                "each must read differently",
                "measure again, or move the sensor so that it turns farther",
            )


def _hysteresis(counts: tuple[int, ...], values: tuple[int, ...]) -> int:
    """A third of the smallest step between neighbouring values, and at least one count."""
    segments = zip(pairwise(counts), pairwise(values), strict=True)
    steps = [(c1 - c0) / abs(v1 - v0) for (c0, c1), (v0, v1) in segments if v1 != v0]
    return min(max(1, int(min(steps, default=0.0) / 3)), HYSTERESIS_COUNTS_MAX)
