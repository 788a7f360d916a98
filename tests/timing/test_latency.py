"""Predicted worst latency against the model, sampled at every phase."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from retrofit.timing.latency import (
    EventPath,
    after_quick_change_us_max,
    held_release_latency_us_max,
    press_latency_us_max,
    release_latency_us_max,
    shoe_latency_us_max,
    stepped_shoe_latency_us_max,
)
from retrofit.timing.samples import Counted, FirstEdge
from retrofit.timing.trace import Sampler, events

PERIOD_US = 1000
PATH = EventPath(period_us=PERIOD_US, until_lane_us=60, handling_us=15)
REST_US = PATH.after_sample_us
FIRST_EDGE = Debounce(DebounceFamily.FIRST_EDGE, hold=8)
COUNTED = Debounce(DebounceFamily.ASYMMETRIC, press=2, release=12)


def latest(make: Callable[[], Sampler], edges: list[int], to_state: bool) -> float:
    """Return the longest time over all phases from the last edge to the sample that reports the given state.

    Phases whose samples all miss a short state have nothing to report and do not count.
    """
    latencies = []
    for phase in range(PERIOD_US):
        found = events(make(), edges, range(phase, edges[-1] + 60 * PERIOD_US, PERIOD_US))
        latencies += [time - edges[-1] for time, state in found[-1:] if state == to_state]
    return max(latencies)


def test_first_edge_press_is_one_period() -> None:
    """D1: a settled press is seen by the next sample, and the rest of the path follows; the model comes within 1 µs."""
    predicted = press_latency_us_max(FIRST_EDGE, PATH) - REST_US
    assert predicted == PERIOD_US
    assert latest(lambda: FirstEdge(8), [5000], True) == predicted - 1


def test_first_edge_release_after_a_quick_tap_waits_for_the_hold_off() -> None:
    """The worst release is that of a tap that ends just after the sample that saw it."""
    predicted = release_latency_us_max(FIRST_EDGE, PATH) - REST_US
    assert predicted == 8 * PERIOD_US
    assert latest(lambda: FirstEdge(8), [5000, 5001], False) == predicted - 1


def test_first_edge_release_of_a_held_key_is_one_period() -> None:
    """A key that was down longer than the hold-off is released as quickly as it was pressed."""
    predicted = held_release_latency_us_max(FIRST_EDGE, PATH) - REST_US
    assert latest(lambda: FirstEdge(8), [5000, 25_000], False) == predicted - 1 == PERIOD_US - 1


def test_first_edge_restrike_within_the_hold_off_waits_for_it() -> None:
    """A press just after the sample that saw the release comes as late as the hold-off."""
    predicted = after_quick_change_us_max(FIRST_EDGE, PATH) - REST_US
    assert latest(lambda: FirstEdge(8), [5000, 25_000, 25_001], True) == predicted - 1 == 8 * PERIOD_US - 1


def test_counts_are_that_many_periods() -> None:
    """D5: 2 ms for on and 12 ms for off, met by the model to 1 µs."""
    assert latest(lambda: Counted(2, 12), [5000], True) == press_latency_us_max(COUNTED, PATH) - REST_US - 1 == 1999
    assert latest(lambda: Counted(2, 12), [5000, 25_000], False) == release_latency_us_max(COUNTED, PATH) - REST_US - 1
    assert held_release_latency_us_max(COUNTED, PATH) == release_latency_us_max(COUNTED, PATH)


def test_rest_of_the_path() -> None:
    """After the sample: jitter, the way to the lane, handling, and three bytes from a sender that is 1 % slow."""
    path = EventPath(period_us=1000, until_lane_us=60, handling_us=15, jitter_us=5)
    assert path.after_sample_us == pytest.approx(80 + 960 / 0.99)


def test_d1_press_latency_on_the_wire() -> None:
    """D1: at 1 ms a sample the press is over after 1.96 ms, on a wire at its nominal rate."""
    path = EventPath(period_us=1000, until_lane_us=0, handling_us=0)
    assert press_latency_us_max(FIRST_EDGE, path) - 3 * 320 / 0.99 + 960 == pytest.approx(1960)


@settings(max_examples=100, deadline=None)
@given(
    press=st.integers(1, 6),
    release=st.integers(1, 6),
    gaps=st.lists(st.integers(1, 3000), min_size=2, max_size=10),
    phase=st.integers(0, 999),
)
def test_bounce_never_makes_the_press_later_than_predicted(
    press: int, release: int, gaps: list[int], phase: int
) -> None:
    """From the last edge of a burst the press is reported within its count of periods, whatever came before."""
    edges = [5000 + sum(gaps[:i]) for i in range(len(gaps) // 2 * 2 + 1)]
    debounce = Debounce(DebounceFamily.ASYMMETRIC, press=press, release=release)
    found = events(Counted(press, release), edges, range(phase, edges[-1] + 60_000, PERIOD_US))
    on = [time for time, state in found if state][-1]
    assert on - edges[-1] < press_latency_us_max(debounce, PATH) - REST_US


def test_shoe_waits_for_conversion_and_interval() -> None:
    """Cycle over the channels, interval, handling, and three bytes; six when the shoe sends 14 bits."""
    assert shoe_latency_us_max(832, 10_000, 50) == pytest.approx(10_882 + 960 / 0.99)
    assert shoe_latency_us_max(832, 10_000, 50, bits=14) == pytest.approx(10_882 + 1920 / 0.99)
    assert stepped_shoe_latency_us_max(12_000, 10_000) == 22_000
