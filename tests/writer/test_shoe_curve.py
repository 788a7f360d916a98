"""The curve of an expression shoe."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from retrofit.firmware.shoe_curve import DEAD_ZONE, VALUE_MAX, ShoeCurve, ShoeCurveError, shoe_curve
from retrofit.survey.contacts import ShoePoint

BITS = 10
FULL_SCALE = 1023


def shoe(**readings: Any) -> ShoePoint:
    """Return a potentiometer shoe with these readings."""
    return ShoePoint.model_validate({"id": "swell", "sensor": "potentiometer", **readings})


def value_at(curve: ShoeCurve, counts: int) -> int:
    """Return the value at a converter reading: straight lines between the points, in whole numbers, flat outside."""
    for (c0, c1), (v0, v1) in zip(pairwise(curve.counts), pairwise(curve.values), strict=True):
        if counts <= c0:
            return v0
        if counts < c1:
            return v0 + (counts - c0) * (v1 - v0) // (c1 - c0)
    return curve.values[-1]


fractions = st.floats(0, 1, allow_subnormal=False)


@given(fractions, fractions)
def test_values_run_from_closed_to_open_without_turning_back(closed: float, opened: float) -> None:
    """Whichever way the shoe turns, values rise from 0 at its closed end to 127 at its open end, both reached."""
    assume(abs(closed - opened) > 0.01)
    curve = shoe_curve(shoe(closed_reading=closed, open_reading=opened), BITS)
    travel = range(FULL_SCALE + 1) if opened > closed else range(FULL_SCALE, -1, -1)
    values = [value_at(curve, counts) for counts in travel]
    assert values == sorted(values)
    assert value_at(curve, round(closed * FULL_SCALE)) == 0
    assert value_at(curve, round(opened * FULL_SCALE)) == VALUE_MAX


@given(fractions, fractions)
def test_each_end_has_a_dead_zone(closed: float, opened: float) -> None:
    """The value is still at its end when the reading is three per cent of the span away from it."""
    assume(abs(closed - opened) > 0.2)
    curve = shoe_curve(shoe(closed_reading=closed, open_reading=opened), BITS)
    inside = 0.03 * (opened - closed)
    assert value_at(curve, round((closed + inside) * FULL_SCALE)) == 0
    assert value_at(curve, round((opened - inside) * FULL_SCALE)) == VALUE_MAX


def test_a_reversed_shoe_rises_in_counts() -> None:
    """A shoe that reads high when closed has a curve of rising counts and falling values."""
    curve = shoe_curve(shoe(closed_reading=0.9, open_reading=0.1), BITS)
    assert curve.counts == (round(0.132 * FULL_SCALE), round(0.868 * FULL_SCALE))
    assert curve.values == (VALUE_MAX, 0)


def test_unknown_ends_are_the_ends_of_the_converter() -> None:
    """Without readings the whole range of the converter counts, less the dead zones."""
    curve = shoe_curve(shoe(), BITS)
    assert curve.counts == (round(DEAD_ZONE * FULL_SCALE), round((1 - DEAD_ZONE) * FULL_SCALE))
    assert curve.values == (0, VALUE_MAX)


@pytest.mark.parametrize(
    ("readings", "values"),
    [
        ({"closed_reading": 0.8}, (VALUE_MAX, 0)),
        ({"closed_reading": 0.2}, (0, VALUE_MAX)),
        ({"open_reading": 0.2}, (VALUE_MAX, 0)),
        ({"open_reading": 0.9}, (0, VALUE_MAX)),
    ],
)
def test_one_unknown_end_is_the_farther_end(readings: dict[str, float], values: tuple[int, int]) -> None:
    """With one end known, the other is the end of the range that is farther from it."""
    assert shoe_curve(shoe(**readings), BITS).values == values


def test_a_measured_curve_is_sorted_by_counts() -> None:
    """Measured points may be written in any order; the ends move inward by four per cent of the span."""
    points = [{"reading": 0.8, "value": 0}, {"reading": 0.1, "value": 127}, {"reading": 0.4, "value": 90}]
    curve = shoe_curve(shoe(curve=points), BITS)
    assert curve.counts == (round(0.128 * FULL_SCALE), 409, round(0.772 * FULL_SCALE))
    assert curve.values == (127, 90, 0)


curves = st.lists(st.integers(0, 100), min_size=2, max_size=8, unique=True).map(sorted)


@given(curves, st.booleans())
def test_a_measured_curve_has_its_value_at_every_measured_point(hundredths: list[int], reversed_shoe: bool) -> None:
    """Each reading written down gives the value written beside it, and both ends have a dead zone behind them."""
    values = [round(127 * i / (len(hundredths) - 1)) for i in range(len(hundredths))]
    values = values[::-1] if reversed_shoe else values
    points = [{"reading": at / 100, "value": value} for at, value in zip(hundredths, values, strict=True)]
    curve = shoe_curve(shoe(curve=points), 12)
    assert [value_at(curve, round(at / 100 * 4095)) for at in hundredths] == values
    dead = min(DEAD_ZONE * (hundredths[-1] - hundredths[0]), (hundredths[1] - hundredths[0]) / 3) / 100
    assert curve.counts[0] == pytest.approx((hundredths[0] / 100 + dead) * 4095, abs=1)


def test_eight_points_are_enough_for_a_light_dependent_resistor() -> None:
    """2 kΩ to 200 kΩ, equal ratios for equal travel, below 22 kΩ: no value of 7 bits is off by 2.

    The travel is measured at eight equal parts, the outermost of which hold the dead zones.  That equal travel gives
    equal ratios is common practice, no source.
    """
    points = [{"reading": light(i / 7), "value": round(127 * i / 7)} for i in range(8)]
    assert worst_error(shoe_curve(shoe(sensor="ldr", curve=points), 12)) < 2
    few = [points[0], points[3], points[7]]
    assert worst_error(shoe_curve(shoe(sensor="ldr", curve=few), 12)) > 5


def light(travel: float) -> float:
    """Return what the resistor reads at a part of its travel."""
    ohms = 2e3 * math.pow(100, travel)
    return ohms / (ohms + 22e3)


def worst_error(curve: ShoeCurve) -> float:
    """Return how far a value lies from its part of the travel at the worst, by numpy's straight lines, rounded."""
    travel = np.linspace(1 / 7, 6 / 7, 800)
    counts = [round(light(part) * 4095) for part in travel]
    values = np.floor(np.interp(counts, curve.counts, curve.values) + 0.5)
    worst: float = np.abs(values - 127 * travel).max()
    return worst


def test_fourteen_bits_keep_the_shape() -> None:
    """The greatest value is 16383, the middle lies where it lay, and the ends stay 0."""
    points = [{"reading": 0.1, "value": 0}, {"reading": 0.4, "value": 90}, {"reading": 0.8, "value": 127}]
    curve = shoe_curve(shoe(curve=points, bits=14), BITS)
    assert curve.values == (0, round(90 * 16383 / 127), 16383)


@pytest.mark.parametrize(("noise", "hysteresis"), [(None, 1), (0.0, 1), (1.0, 1), (5.2, 6), (400.0, 255)])
def test_a_movement_must_leave_the_noise(noise: float | None, hysteresis: int) -> None:
    """The hysteresis is no less than the noise peak to peak, and no more than the firmware holds."""
    curve = shoe_curve(shoe(closed_reading=0.3, open_reading=0.7, bits=14), BITS, noise)
    assert curve.hysteresis_counts == hysteresis


def test_hysteresis_is_a_third_of_the_smallest_step() -> None:
    """The steepest part of the curve decides: 400 counts over 20 values are steps of 20, a third of them is 6."""
    points = [
        {"reading": 0, "value": 0},
        {"reading": 441 / FULL_SCALE, "value": 20},
        {"reading": 1, "value": 30},
    ]
    assert shoe_curve(shoe(curve=points), BITS).hysteresis_counts == 6


def test_hysteresis_is_at_least_one_count() -> None:
    """A full travel over ten bits has steps of less than three counts at its ends; one count is the least."""
    assert shoe_curve(shoe(closed_reading=0.4, open_reading=0.5), BITS).hysteresis_counts == 1


@pytest.mark.parametrize(
    "readings",
    [
        {"closed_reading": 0.5, "open_reading": 0.5},
        {"curve": [{"reading": 0.5, "value": 1}]},
        {"curve": [{"reading": 0.5, "value": 1}, {"reading": 0.5001, "value": 2}]},
    ],
)
def test_readings_that_give_no_curve_are_refused(readings: dict[str, Any]) -> None:
    """Ends that cannot be told apart, and a curve of one point, are named with a remedy."""
    with pytest.raises(ShoeCurveError, match="measure"):
        shoe_curve(shoe(**readings), BITS)
