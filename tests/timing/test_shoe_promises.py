"""What is promised of shoes, in words and figures."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.survey.contacts import ShoePoint
from retrofit.timing.latency import shoe_latency_us_max
from retrofit.timing.shoe_promises import readings_in_a_row, sent_bits, settling_us, shoe_sentences

ENDS = {"closed_reading": 0.1, "open_reading": 0.9}
LADDER = {"resistors": ["1k", "1k"], "to_supply": "1k", "tolerance": 0.01}


def shoe(**found: Any) -> ShoePoint:
    """Return a shoe, a potentiometer unless something else is said."""
    return ShoePoint.model_validate({"id": "swell", "sensor": "potentiometer", **found})


def test_a_quiet_shoe_in_words() -> None:
    """Times are rounded to the safe side; steps, bits and the bounds of a whole wire are said."""
    assert shoe_sentences([shoe(noise_counts=6, **ENDS)], 23_456.7, 10_000, 10, 4.5) == (
        "The last position of a shoe is sent within 23.457 ms of its coming to rest, on an idle wire.",
        "Values of one shoe leave 10 ms apart at least, and a newer one takes the place of one that waits.",
        "swell has 136 true steps, that is 7.1 bits, and sends one controller of 7 bits.",
        "A reading of swell below 0.070 or above 0.930 of full scale is that of a broken or shorted wire: the last "
        "value stays, and the board counts it.",
    )


def test_stepped_shoes_promise_no_steps_of_a_converter() -> None:
    """Nothing is said of noise and bounds where contacts decide."""
    assert len(shoe_sentences([shoe(sensor="ladder", ladder=LADDER)], 1000, 1000, 10, 4.5)) == 2


@given(st.integers(250, 64_000))
def test_agreeing_readings_span_ten_milliseconds(period_us: int) -> None:
    """From the first to the last of the readings that must agree at least 10 ms pass, and not a reading more."""
    count = readings_in_a_row(period_us)
    assert (count - 1) * period_us >= 10_000
    assert count == 2 or (count - 2) * period_us < 10_000
    assert settling_us([shoe(sensor="ladder", ladder=LADDER)], period_us) == (count - 1) * period_us
    assert settling_us([shoe()], period_us) == 0


@pytest.mark.parametrize(("bits", "ends_us"), [(7, 3 * 323.2323), (14, 6 * 323.2323)])
def test_both_halves_are_waited_for(bits: int, ends_us: float) -> None:
    """A shoe of 14 bits ends with its sixth byte, at 320 µs and 1 % more each."""
    assert sent_bits([shoe(), shoe(bits=bits)]) == bits
    assert shoe_latency_us_max(0, 0, 0, bits) == pytest.approx(ends_us, abs=0.01)
