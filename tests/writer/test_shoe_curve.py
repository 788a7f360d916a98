"""The curve of an expression shoe."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

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
    """Measured points may be written in any order."""
    points = [{"reading": 0.8, "value": 0}, {"reading": 0.1, "value": 127}, {"reading": 0.4, "value": 90}]
    curve = shoe_curve(shoe(curve=points), BITS)
    assert curve.counts == (102, 409, 818)
    assert curve.values == (127, 90, 0)


def test_hysteresis_is_a_third_of_the_smallest_step() -> None:
    """The steepest part of the curve decides: 400 counts over 20 values are steps of 20, a third of them is 6."""
    points = [
        {"reading": 0, "value": 0},
        {"reading": 400 / FULL_SCALE, "value": 20},
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
