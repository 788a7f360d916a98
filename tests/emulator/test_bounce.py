"""The bounce generator: lengths, alternation and repeatability."""

from __future__ import annotations

from random import Random
from statistics import mean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.emulator.bounce import (
    LONGEST_KNOWN_US,
    MEAN_BOUNCE_US,
    dropout,
    exact_burst,
    random_burst,
    samples_within,
)


@given(st.integers(), st.booleans(), st.floats(0, 50_000), st.floats(0, 1e9))
def test_a_burst_alternates_and_ends_in_its_state(seed: int, state: bool, longest: float, start: float) -> None:
    """Edges rise in time, the state changes at each, the first one leaves the old state and the last one is the new."""
    burst = random_burst(Random(seed), start, state, longest)
    times = [time for time, _ in burst.edges]
    states = [level for _, level in burst.edges]
    assert times == sorted(times)
    assert states == [state if turn % 2 == 0 else not state for turn in range(len(states))]
    assert burst.state is state
    assert burst.first_us == start
    assert burst.settled_us - start <= longest * (1 + 1e-9) + 1e-6


@given(st.integers(), st.floats(1, 50_000), st.integers(1, 20))
def test_an_exact_burst_lasts_exactly(seed: int, length: float, pairs: int) -> None:
    """The last edge comes `length` after the first, and as many pairs of edges are made as were asked for."""
    burst = exact_burst(Random(seed), 0.0, True, length, pairs)
    assert burst.settled_us == length
    assert len(burst.edges) == 2 * pairs + 1


def test_the_same_seed_gives_the_same_burst() -> None:
    """A failure can be repeated from the seed that was printed, and another seed gives another burst."""
    first, again, other = (random_burst(Random(seed), 0, True, 5000) for seed in (7, 7, 8))
    assert first == again
    assert first != other


def test_lengths_are_those_of_measured_switches() -> None:
    """Cut at 6.2 ms the mean lies near the 1.6 ms of 16 switch types, and some bursts last to the full (Ganssle)."""
    lengths = [random_burst(Random(seed), 0, True, LONGEST_KNOWN_US).settled_us for seed in range(4000)]
    at_full = sum(length == LONGEST_KNOWN_US for length in lengths) / len(lengths)
    shorter = [length for length in lengths if length < LONGEST_KNOWN_US]
    assert mean(shorter) == pytest.approx(MEAN_BOUNCE_US, rel=0.1)
    assert 0.1 < at_full < 0.2


@pytest.mark.parametrize(("length", "count"), [(0.5, 0), (1.0, 1), (999.0, 1), (1001.0, 2), (2999.5, 3)])
def test_samples_inside_a_dropout_are_counted(length: float, count: int) -> None:
    """A state of w µs beginning just before a sample holds floor(w/T) + 1 of them, or none when it is over before."""
    (start, away), (end, back) = dropout(4999.5, length, True)
    assert (away, back, end - start) == (False, True, length)
    assert samples_within(start, length, 0, 1000) == count
