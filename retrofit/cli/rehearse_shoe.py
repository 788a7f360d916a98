"""A shoe's sweep as a converter finds it: the shoe's own noise, and what the firmware's hysteresis leaves of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from random import Random

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.converter_reading import noise_counts
from retrofit.firmware.shoe_curve import ShoeCurve, shoe_curve
from retrofit.firmware.shoe_rows import converter_bits
from retrofit.plan.model import ConversionPlan
from retrofit.scan.addresses import ConverterAddress
from retrofit.survey.contacts import ShoeSensor

STEPS, STEP_US = 600, 10_000
"""A slow sweep from closed to open and back, six seconds long; common practice, no source."""
BEYOND = 0.05
"""The foot goes this part of the curve beyond each of its ends, where the value is flat."""


def sweep_places() -> list[float]:
    """Return where the foot is at each step, from 0 for closed to 1 for open."""
    return [1 - abs(2 * number / STEPS - 1) for number in range(STEPS + 1)]


def swept(plan: ConversionPlan, shoe: str, random: Random) -> list[float]:
    """Return the places of a shoe that is moved slowly to its open end and back, as the board sees them.

    A shoe whose noise was measured trembles by so much; one that no converter reads goes straight.
    """
    point = next(point for point in plan.points if point.point.id == shoe)
    found = point.point.shoe
    if found is None or not isinstance(point.address, ConverterAddress) or found.sensor is ShoeSensor.LADDER:
        return sweep_places()
    board = load_catalogue().boards[plan.board]
    bits = converter_bits(board)
    noise = noise_counts(found, bits, board.figures["supply"].least) or 0.0
    curve = shoe_curve(found, bits, noise)
    readings = [reading + random.uniform(-noise / 2, noise / 2) for reading in _readings(curve)]
    return [_value(curve, counts) / max(curve.values) for counts in accepted(curve, readings)]


def _readings(curve: ShoeCurve) -> Iterator[float]:
    """Yield what a shoe without noise reads on its way."""
    ends = (curve.counts[0], curve.counts[-1])
    closed, opened = ends if curve.values[0] < curve.values[-1] else ends[::-1]
    for place in sweep_places():
        yield closed + (opened - closed) * (place * (1 + 2 * BEYOND) - BEYOND)


def accepted(curve: ShoeCurve, readings: Sequence[float]) -> Iterator[int]:
    """Yield the reading that stands after each: a new one must leave the hysteresis, or lie where the value is flat."""
    last: int | None = None
    for reading in readings:
        counts = round(reading)
        is_flat = not curve.counts[0] < counts < curve.counts[-1]
        if last is None or is_flat or abs(counts - last) > curve.hysteresis_counts:
            last = counts
        yield last


def _value(curve: ShoeCurve, counts: int) -> float:
    """Return the curve's value at a reading."""
    inside = min(max(counts, curve.counts[0]), curve.counts[-1])
    points = zip(curve.counts, curve.values, strict=True)
    for (below, lower), (above, upper) in pairwise(points):
        if inside <= above:
            return lower + (upper - lower) * (inside - below) / (above - below)
    return float(curve.values[-1])
