"""The debounce model against worked cases and against its promises."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.timing.samples import Counted, FirstEdge
from retrofit.timing.trace import level_at
from tests.timing.breaches import PERIOD_US, counted_breaches, first_edge_breaches, reported, states

COUNTS = st.integers(1, 12)
PHASES = st.integers(0, PERIOD_US - 1)
EDGES = st.lists(st.integers(1, 20 * PERIOD_US), min_size=1, max_size=30).map(
    lambda gaps: [PERIOD_US + sum(gaps[: i + 1]) for i in range(len(gaps))]
)


def pattern(levels: str, first_sample: int = 5) -> list[tuple[int, bool]]:
    """Return samples numbered from `first_sample` after a rest of zeros; the last level holds for 40 samples more."""
    rest = "0" * first_sample
    return [(index, level == "1") for index, level in enumerate(rest + levels + levels[-1] * 40)]


def heard(debounce: FirstEdge | Counted, samples: list[tuple[int, bool]]) -> list[tuple[int, bool]]:
    """Return sample number and new state of each event."""
    return [(index, state) for index, level in samples if (state := debounce.sample(level)) is not None]


def test_d1_restrike_within_the_hold_off_is_one_note() -> None:
    """D1: hold 8, press 3, gap 3, press 10 samples: on at sample 5, off at 21, nothing between."""
    assert heard(FirstEdge(8), pattern("111000" + "1" * 10 + "0")) == [(5, True), (21, False)]


def test_d1_tap_shorter_than_the_hold_off_lasts_as_long_as_it() -> None:
    """D1: a tap of 3 samples is reported 8 samples long."""
    assert heard(FirstEdge(8), pattern("1110")) == [(5, True), (13, False)]


def test_d2_bounce_longer_than_the_hold_off_strikes_twice() -> None:
    """D2: hold 5 under a bounce of 10 samples gives on at 5, off at 11 and on again at 16."""
    assert heard(FirstEdge(5), pattern("10101100101")) == [(5, True), (11, False), (16, True)]


@pytest.mark.parametrize("hold", [10, 11])
def test_d2_hold_off_as_long_as_the_bounce_strikes_once(hold: int) -> None:
    """D2: hold 10 is enough for a bounce of 10 samples, 11 has one sample in hand."""
    assert heard(FirstEdge(hold), pattern("10101100101")) == [(5, True)]


def test_d3_clean_latency_of_five_in_a_row_is_four_to_five_periods() -> None:
    """D3: five samples in a row report a clean edge 4 to 5 ms after it, at 1 ms a sample."""
    times = [reported(lambda: Counted(5, 5), [7_000], phase)[0][0] - 7_000 for phase in range(PERIOD_US)]
    assert (min(times), max(times)) == (4_000, 4_999)


def test_d3_pulse_below_four_periods_is_never_heard_and_five_always() -> None:
    """D3: 3.99 ms is rejected and 5.0 ms accepted at every phase; 4.5 ms depends on the phase."""
    outcomes = {
        width: {bool(states(lambda: Counted(5, 5), [7_000, 7_000 + width], phase)) for phase in range(0, PERIOD_US, 7)}
        for width in (3_990, 4_500, 5_000)
    }
    assert outcomes == {3_990: {False}, 4_500: {False, True}, 5_000: {True}}


@settings(max_examples=200, deadline=None)
@given(gaps=st.lists(st.integers(1, 2_000), min_size=2, max_size=12), phase=PHASES)
def test_d3_latency_with_bounce_is_bounded(gaps: list[int], phase: int) -> None:
    """D3: with a bounce B the on comes at most B + 5 ms after the first edge, that is 5 ms after the last."""
    edges = [7_000 + sum(gaps[: i + 1]) for i in range(len(gaps) - (len(gaps) % 2 == 0))]
    ons = [time for time, state in reported(lambda: Counted(5, 5), edges, phase) if state]
    assert ons[-1] < edges[-1] + 5 * PERIOD_US


def test_d4_steady_chatter_never_satisfies_a_count_in_a_row() -> None:
    """D4: a dirty contact that repeats three samples on and one off never gives five in a row."""
    debounce = Counted(5, 5)
    assert [debounce.sample(level == "1") for level in "1110" * 50] == [None] * 200


def test_d5_short_press_and_long_release() -> None:
    """D5: press 2 and release 12 at 1 ms: on within 2 ms, off within 12 ms, a dropout of 11 samples is bridged."""
    assert heard(Counted(2, 12), pattern("11" + "0" * 11 + "1" * 5)) == [(6, True)]
    assert heard(Counted(2, 12), pattern("11" + "0" * 12 + "1" * 5)) == [(6, True), (18, False), (20, True)]


def test_d5_shortest_period_is_the_sum_of_both_counts() -> None:
    """D5: strokes of 2 samples on and 12 off, 14 ms or 71 a second, are all heard; one sample less up merges them."""
    assert len(heard(Counted(2, 12), pattern(("11" + "0" * 12) * 5))) == 10
    assert len(heard(Counted(2, 12), pattern(("11" + "0" * 11) * 5 + "0" * 3))) == 2


@settings(max_examples=60, deadline=None)
@given(press=COUNTS, release=COUNTS)
def test_counted_keeps_its_promises(press: int, release: int) -> None:
    """Pulses below (N - 1) T are never heard and pulses of N T always, for closures and for breaks."""
    assert counted_breaches(lambda: Counted(press, release), press, release) == []


@pytest.mark.parametrize(("press", "release"), [(1, 0), (-1, 0), (0, 1), (0, -1)])
def test_counted_with_a_wrong_count_is_caught(press: int, release: int) -> None:
    """A model that counts one sample more or less breaks a promise of the right one."""
    assert counted_breaches(lambda: Counted(5 + press, 7 + release), 5, 7) != []


@settings(max_examples=40, deadline=None)
@given(hold=COUNTS)
def test_first_edge_keeps_its_promises(hold: int) -> None:
    """No two events closer than N T; states of N T are all heard, each within one period."""
    assert first_edge_breaches(lambda: FirstEdge(hold), hold) == []


@pytest.mark.parametrize("error", [1, -1])
def test_first_edge_with_a_wrong_hold_off_is_caught(error: int) -> None:
    """A model that holds off one sample more or less breaks a promise of the right one."""
    assert first_edge_breaches(lambda: FirstEdge(8 + error), 8) != []


def test_first_edge_loses_strokes_shorter_than_its_hold_off() -> None:
    """States of 4.4 periods under a hold-off of 5 lose strokes, so that the promise at 5 periods says something."""
    edges = [7_000 + i * 4_400 for i in range(40)]
    assert len(states(lambda: FirstEdge(5), edges, 0)) < len(edges)


@settings(max_examples=150, deadline=None)
@given(hold=COUNTS, edges=EDGES, phase=PHASES)
def test_first_edge_on_any_trace(hold: int, edges: list[int], phase: int) -> None:
    """On any trace events alternate, are never closer than N T, and no edge is lost for ever."""
    found = reported(lambda: FirstEdge(hold), edges, phase)
    assert [state for _, state in found] == [i % 2 == 0 for i in range(len(found))]
    assert all(later - sooner >= hold * PERIOD_US for (sooner, _), (later, _) in pairwise(found))
    assert (len(found) % 2 == 1) == level_at(edges, edges[-1])


@settings(max_examples=150, deadline=None)
@given(press=COUNTS, release=COUNTS, edges=EDGES, phase=PHASES)
def test_counted_on_any_trace(press: int, release: int, edges: list[int], phase: int) -> None:
    """On any trace each event was preceded by a state long enough to hold its count, and the last level is reported."""
    found = reported(lambda: Counted(press, release), edges, phase)
    for time, state in found:
        span = ((press if state else release) - 1) * PERIOD_US
        assert all(level_at(edges, time - back) == state for back in range(0, span + 1, PERIOD_US))
    assert (len(found) % 2 == 1) == level_at(edges, edges[-1])


@settings(max_examples=150, deadline=None)
@given(release=st.integers(2, 12), gaps=st.lists(st.tuples(st.integers(2_000, 9_000), st.integers(1, 10_000))))
def test_dropouts_below_the_promise_never_break_a_note(release: int, gaps: list[tuple[int, int]]) -> None:
    """With an asymmetric debounce breaks shorter than (N - 1) T leave a held note whole, however many there are."""
    edges = [7_000]
    for closed, broken in gaps:
        edges += [edges[-1] + closed, edges[-1] + closed + min(broken, (release - 1) * PERIOD_US - 1)]
    assert states(lambda: Counted(2, release), edges, 300) == [True]


def test_counts_below_one_are_refused() -> None:
    """A debounce of no samples is refused with the count in the words."""
    with pytest.raises(ValueError, match="hold-off of 0 samples"):
        FirstEdge(0)
    with pytest.raises(ValueError, match="counts of 1 and 0 samples"):
        Counted(1, 0)
