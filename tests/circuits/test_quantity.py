"""Quantities in words: prefixes of the SI brochure, three figures, and never an exponent."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.quantity import quantity

FACTORS = {"p": 1e-12, "n": 1e-9, "µ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6}
"""SI brochure (BIPM, 9th edition 2019), table 7."""


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (2.178e6, "Ω", "2.18 MΩ"),
        (560e3, "Ω", "560 kΩ"),
        (470.0, "Ω", "470 Ω"),
        (999.7, "Ω", "1 kΩ"),
        (4.7e-6, "F", "4.7 µF"),
        (-1e-6, "A", "-1 µA"),
        (0.032, "A", "32 mA"),
        (0.0, "A", "0 A"),
        (22e9, "Ω", "22000 MΩ"),
        (3e-15, "F", "0.003 pF"),
        (2.28, "% of keyed current", "2.28 % of keyed current"),
        (123456.0, "µs", "123000 µs"),
        (float("inf"), "Ω", "inf Ω"),
    ],
)
def test_values_are_said_with_their_prefix(value: float, unit: str, words: str) -> None:
    """Prefixes run from pico to mega, what is beyond keeps the nearest; a unit with a prefix of its own keeps it."""
    assert quantity(value, unit) == words


@given(st.floats(1e-11, 9e8), st.sampled_from(["V", "A", "Ω", "F"]), st.sampled_from([1, -1]))
def test_words_mean_the_value(size: float, unit: str, sign: int) -> None:
    """Read back with the brochure's factors, the words are the value within half of the third figure."""
    found = re.fullmatch(rf"(-?\d{{1,3}}(?:\.\d+)?) ([pnµmkM]?){unit}", quantity(sign * size, unit))
    assert found is not None
    assert float(found[1]) * FACTORS[found[2]] == pytest.approx(sign * size, rel=0.0051)
