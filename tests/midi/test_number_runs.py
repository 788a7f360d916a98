"""Numbers as people write them."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from retrofit.midi.number_runs import number_runs


def test_neighbours_are_drawn_together() -> None:
    """Order and repetition do not matter."""
    assert number_runs([31, 3, 12, 13, 14, 9, 3]) == "3, 9, 12-14, 31"
    assert number_runs([]) == ""


@given(st.sets(st.integers(0, 200)))
def test_the_words_mean_exactly_these_numbers(numbers: set[int]) -> None:
    """Read back, they are the same set."""
    read = set()
    for part in filter(None, number_runs(numbers).split(", ")):
        first, _, last = part.partition("-")
        read |= set(range(int(first), int(last or first) + 1))
    assert read == numbers
