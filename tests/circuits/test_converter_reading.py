"""What a shoe's reading is good for: worked examples, and the bounds beyond which a wire is broken."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.converter_reading import (
    BREAK_MARGIN,
    FINE_STEPS,
    ShoeReading,
    measured_ends,
    shoe_reading,
    whole_readings,
)
from retrofit.survey.contacts import ShoePoint

ENDS = {"closed_reading": 0.1, "open_reading": 0.9}


def shoe(**found: Any) -> ShoePoint:
    """Return a potentiometer shoe."""
    return ShoePoint.model_validate({"id": "swell", "sensor": "potentiometer", **found})


def test_a_shoe_of_nine_bits() -> None:
    """3379 counts over 6 counts of noise are 563 clean steps, 9.1 bits: more than 512, and far from 14."""
    reading = ShoeReading(3379.0, 6.0)
    assert reading.true_steps == 563
    assert reading.true_bits == pytest.approx(9.1, abs=0.05)
    assert reading.true_steps >= FINE_STEPS == 512


@pytest.mark.parametrize(("bits", "steps"), [(10, 818), (12, 3276)])
def test_a_quiet_reading_is_as_fine_as_the_converter(bits: int, steps: int) -> None:
    """Without any noise a step is one count still."""
    assert shoe_reading(shoe(noise_counts=0, **ENDS), bits, 5.0).true_steps == steps


def test_noise_in_volts_is_counted_at_the_least_reference() -> None:
    """22.5 mV of 4.5 V are a two-hundredth of 1024 counts, 5.12: 818 counts of travel are 159 steps."""
    reading = shoe_reading(shoe(noise="22.5 mV", **ENDS), 10, 4.5)
    assert reading.noise_counts == pytest.approx(5.12)
    assert reading.true_steps == 159


@pytest.mark.parametrize("found", [{}, {"noise_counts": 2}, {"closed_reading": 0.1, "noise_counts": 2}, ENDS])
def test_what_is_unknown_stays_unknown(found: dict[str, Any]) -> None:
    """Without both ends and the noise nobody knows the steps."""
    assert shoe_reading(shoe(**found), 10, 5.0).true_steps is None
    assert shoe_reading(shoe(**found), 10, 5.0).true_bits is None


def test_the_ends_of_a_curve_are_its_outermost_readings() -> None:
    """A measured curve tells the ends, whatever else is written."""
    points = [{"reading": 0.8, "value": 0}, {"reading": 0.2, "value": 127}, {"reading": 0.5, "value": 20}]
    assert measured_ends(shoe(curve=points, closed_reading=0.0, open_reading=1.0)) == (0.2, 0.8)


@given(st.floats(0, 1), st.floats(0, 1))
def test_no_position_is_taken_for_a_broken_wire(closed: float, opened: float) -> None:
    """The bounds enclose the whole travel, with the margin wherever the converter reaches that far."""
    low, high = whole_readings(shoe(closed_reading=closed, open_reading=opened))
    least, greatest = min(closed, opened), max(closed, opened)
    assert 0 <= low <= least <= greatest <= high <= 1
    assert low == 0 or least - low == pytest.approx(BREAK_MARGIN)
    assert high == 1 or high - greatest == pytest.approx(BREAK_MARGIN)


def test_an_unmeasured_travel_has_no_bounds() -> None:
    """Where the ends are not known, every reading may be a position."""
    assert whole_readings(shoe(closed_reading=0.3)) == (0.0, 1.0)
