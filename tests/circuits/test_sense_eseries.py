"""Preferred values against the eseries package (IEC 60063)."""

from __future__ import annotations

import math

import eseries
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from retrofit.circuits.eseries_values import Series, nearest, next_above, next_below, values_between

KEYS = {Series.E12: eseries.E12, Series.E24: eseries.E24, Series.E96: eseries.E96}
SERIES = st.sampled_from(list(Series))
VALUES = st.floats(1e-11, 1e8)


@pytest.mark.parametrize("series", list(Series))
def test_every_decade_holds_the_published_values(series: Series) -> None:
    """The digits of each series are those that the eseries package lists."""
    assert list(series.value) == [round(value) for value in eseries.series(KEYS[series])]


@pytest.mark.parametrize("series", list(Series))
def test_values_over_many_decades(series: Series) -> None:
    """From 10 pF to 22 MΩ every preferred value is found, rising, as by the eseries package."""
    mine = values_between(series, 1e-11, 22e6)
    published = list(eseries.erange(KEYS[series], 1e-11, 22e6))
    assert len(mine) == len(published) > 200
    assert mine == pytest.approx(published, rel=1e-9)


@settings(max_examples=1500)
@given(SERIES, VALUES)
def test_neighbours_agree_with_the_package(series: Series, value: float) -> None:
    """Next above and next below are those of the eseries package, and the nearest is no farther than its own."""
    key = KEYS[series]
    assume(abs(nearest(series, value) / value - 1) > 1e-8)
    above, below = next_above(series, value), next_below(series, value)
    assert above == pytest.approx(eseries.find_greater_than_or_equal(key, value), rel=1e-8)
    assert below == pytest.approx(eseries.find_less_than_or_equal(key, value), rel=1e-8)
    chosen, published = nearest(series, value), eseries.find_nearest(key, value)
    assert abs(chosen - value) <= abs(published - value) * (1 + 1e-6) + 1e-9 * value


@given(SERIES, st.integers(-9, 6), st.integers(0, 95))
def test_a_preferred_value_is_its_own_neighbour(series: Series, decade: int, step: int) -> None:
    """A preferred value is not moved, in either direction."""
    digits = series.value[step % len(series.value)]
    value = digits * math.pow(10, decade)
    for move in (next_above, next_below, nearest):
        assert move(series, value) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_only_positive_values_have_neighbours(value: float) -> None:
    """Nothing, negative, endless and undefined values are refused."""
    with pytest.raises(ValueError, match="only finite positive values"):
        next_above(Series.E24, value)
