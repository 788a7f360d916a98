"""Results, limits and corners."""

from __future__ import annotations

import pytest

from retrofit.circuits.result import Result, Span, corners, worst_corner


def test_margin_of_a_lower_and_an_upper_limit() -> None:
    """The margin is positive on the allowed side of either kind of limit."""
    above = Result(12.0, 10.0, "ns", at_least=True, corner="")
    below = Result(12.0, 10.0, "ns", at_least=False, corner="")
    assert (above.margin, above.margin_percent, above.passes) == (2.0, 20.0, True)
    assert (below.margin, below.margin_percent, below.passes) == (-2.0, -20.0, False)


def test_no_percentage_of_nothing() -> None:
    """A limit of zero has no margin in percent."""
    assert Result(-3.0, 0.0, "ns", at_least=True, corner="").margin_percent is None


def test_every_combination_of_ends_is_a_corner() -> None:
    """Two spans have four corners; an exact quantity adds none."""
    found = list(corners(a=Span(1, 2), b=Span(3, 4), c=Span.exact(5)))
    assert found == [
        {"a": 1, "b": 3, "c": 5},
        {"a": 1, "b": 4, "c": 5},
        {"a": 2, "b": 3, "c": 5},
        {"a": 2, "b": 4, "c": 5},
    ]


def test_the_worst_corner_is_named() -> None:
    """The lowest and the highest value are found inside mixed directions, with the corner in words."""

    def difference(first: float, last_one: float) -> float:
        return first - last_one

    spans = {"first": Span.around(100.0, 0.1), "last_one": Span(1.0, 2.0)}
    units = {"first": "V", "last_one": "Ω"}
    low, low_corner = worst_corner(difference, lowest=True, units=units, **spans)
    high, high_corner = worst_corner(difference, lowest=False, units=units, **spans)
    assert low == pytest.approx(88.0)
    assert high == pytest.approx(109.0)
    assert (low_corner, high_corner) == ("first 90 V, last one 2 Ω", "first 110 V, last one 1 Ω")


def test_what_is_zero_at_every_corner_is_not_told() -> None:
    """A resistance that is not there says nothing of the corner that decided."""
    spans = {"supply": Span(4.5, 5.5), "source": Span.exact(0.0), "leakage": Span(0.0, 1e-6)}
    _, corner = worst_corner(lambda **at: at["supply"], lowest=True, units={"supply": "V", "leakage": "A"}, **spans)
    assert corner == "supply 4.5 V, leakage 0 A"


def test_a_figure_and_its_limit_in_words() -> None:
    """Both are said in the result's own unit, with the side on which the limit lies."""
    result = Result(1.234e-3, 5e-3, "A", at_least=False, corner="")
    assert (result.figure, result.bound) == ("1.23 mA", "at most 5 mA")
    assert Result(1.0, 3.0, "V", at_least=True, corner="").bound == "at least 3 V"
