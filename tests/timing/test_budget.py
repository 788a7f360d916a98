"""The parts of a press sum to the latency that is predicted for it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.budget import Part, press_budget
from retrofit.timing.debounce import Debounce
from retrofit.timing.latency import EventPath, press_latency_us_max, stepped_shoe_latency_us_max

TIMES = st.floats(0, 5_000)
PATHS = st.builds(EventPath, st.sampled_from([125, 500, 2000]), TIMES, TIMES, TIMES, st.sampled_from([2, 3]))
DEBOUNCES = st.one_of(
    st.builds(Debounce, st.just(DebounceFamily.FIRST_EDGE), hold=st.integers(1, 255)),
    st.builds(Debounce, st.just(DebounceFamily.ASYMMETRIC), press=st.integers(1, 63), release=st.integers(1, 63)),
)


@given(debounce=DEBOUNCES, path=PATHS, circuit_us=TIMES, interval_us=TIMES)
def test_the_parts_sum_to_the_latency(
    debounce: Debounce, path: EventPath, circuit_us: float, interval_us: float
) -> None:
    """Circuit, scan wait, debounce, lane, handling, interval and wire: nothing is missing and nothing counted twice."""
    budget = press_budget(debounce, path, None, circuit_us=circuit_us, interval_us=interval_us)
    latency = stepped_shoe_latency_us_max(press_latency_us_max(debounce, path) + circuit_us, interval_us)
    assert budget.settled_us == pytest.approx(latency)


def test_bounce_comes_first_and_only_when_known() -> None:
    """A known bounce is the first part and delays the touch alone; an unknown one is in no sum."""
    path, debounce = EventPath(1000, 60, 15), Debounce(DebounceFamily.FIRST_EDGE, hold=8)
    known, unknown = press_budget(debounce, path, 3_000), press_budget(debounce, path, None)
    assert known.all_parts[0] == (Part.BOUNCE, 3_000)
    assert known.touched_us == pytest.approx(unknown.settled_us + 3_000)
    assert (unknown.touched_us, unknown.all_parts) == (None, unknown.parts)
