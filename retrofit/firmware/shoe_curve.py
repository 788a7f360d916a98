"""From measured ends of a shoe's travel to the curve that the firmware follows: converter counts to values.

The curve rises in counts and is held flat outside its first and last point; that is what makes the dead zones.  A
shoe of 14 bits has values up to 16383, in the same shape.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from retrofit.survey.contacts import ShoePoint

DEAD_ZONE = 0.04
"""Part of the span at each end where the value does not change (3 to 5 %: common practice, no source)."""

VALUE_MAX = 127
"""In the job file, whatever is sent."""
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


def shoe_curve(shoe: ShoePoint, converter_bits: int, noise_counts: float | None = None) -> ShoeCurve:
    """Return the curve of a shoe on a converter of this many bits.

    A measured curve is followed, with a dead zone at each end.  Otherwise the closed end gives 0 and the open end the
    greatest value, with a dead zone at each; an end that was not measured is taken as the end of the converter's range
    (for one unknown end, the one farther from the known reading).  A movement must leave the noise.  Raises
    `ShoeCurveError` when the ends are too close to tell apart.
    """
    full_scale = 2**converter_bits - 1
    points = _measured(shoe, full_scale) if shoe.curve else _from_ends(*_ends(shoe), full_scale)
    counts = tuple(count for count, _ in points)
    _check(counts)
    values = tuple(_sent(value, shoe.bits) for _, value in points)
    return ShoeCurve(counts, values, _hysteresis(counts, values, noise_counts or 0.0))


def _sent(value: int, bits: int) -> int:
    """Return the value that is sent: of 14 bits, the greatest for the greatest."""
    return round(value * ((1 << bits) - 1) / VALUE_MAX)


def _measured(shoe: ShoePoint, full_scale: int) -> list[tuple[int, int]]:
    readings = sorted((point.reading, point.value) for point in shoe.curve)
    if len(readings) >= POINTS_MIN:
        dead = DEAD_ZONE * (readings[-1][0] - readings[0][0])
        readings = [_moved(readings[0], readings[1], dead), *readings[1:-1], _moved(readings[-1], readings[-2], dead)]
    return [(round(reading * full_scale), value) for reading, value in readings]


def _moved(end: tuple[float, int], neighbour: tuple[float, int], dead: float) -> tuple[float, int]:
    """Move an end inward by its dead zone, a third of the way to its neighbour at most."""
    way = neighbour[0] - end[0]
    inward = min(dead, abs(way) / 3)
    return end[0] + (inward if way > 0 else -inward), end[1]


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


def _hysteresis(counts: tuple[int, ...], values: tuple[int, ...], noise_counts: float) -> int:
    """A third of the smallest step between neighbouring values, and no less than one count and than the noise."""
    segments = zip(pairwise(counts), pairwise(values), strict=True)
    steps = [(c1 - c0) / abs(v1 - v0) for (c0, c1), (v0, v1) in segments if v1 != v0]
    return min(max(1, int(min(steps, default=0.0) / 3), ceil(noise_counts)), HYSTERESIS_COUNTS_MAX)
