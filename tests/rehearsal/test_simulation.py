"""The simulation's statistics against those of scipy, where the share of cases can be worked out by hand.

A state of length w between two instants of an even phase meets a sample of period T with probability w/T.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from retrofit.rehearsal.bounce import EvenBounce, RecordedBounce
from retrofit.rehearsal.playing import Playing
from retrofit.rehearsal.simulation import GroupResult, Rate, Result, SimulatedGroup, simulate
from tests.rehearsal.groups import CLEAN, counted, first_edge, group

SECONDS = 200.0
UNLIKELY = 1e-4


def only(simulated: SimulatedGroup, seconds: float = SECONDS, seed: int = 5) -> GroupResult:
    """Return the result of one group."""
    return simulate([simulated], seconds, seed).groups[0]


def p_value(rate: Rate, share: float) -> float:
    """Return how likely so extreme a count is when each stroke is a case with this probability (scipy)."""
    return float(stats.binomtest(rate.cases, rate.strokes, share).pvalue)


def breaks_of(width_us: float) -> RecordedBounce:
    """Return a bounce of one break 20 ms after the touch."""
    return RecordedBounce(closing_us=((20_000.0, 20_000.0 + width_us),))


@pytest.mark.parametrize("width_us", [30.0, 400.0, 900.0])
def test_double_strikes_are_binomial(width_us: float) -> None:
    """A break of w after the hold-off is heard with probability w/T, and then strikes twice."""
    found = only(group(first_edge(5), bounce=breaks_of(width_us)))
    assert found.strokes > 20_000
    assert p_value(found.double, width_us / 1000) > UNLIKELY
    assert found.lost.cases == 0


def test_a_wrong_share_would_be_noticed() -> None:
    """The binomial test tells 0.40 from 0.42 with so many strokes, so that it says something above."""
    found = only(group(first_edge(5), bounce=breaks_of(400.0)))
    assert p_value(found.double, 0.42) < UNLIKELY


def test_rare_double_strikes_are_poisson() -> None:
    """A break of 0.5 µs in 1 ms is a rare event: the count lies in the middle 99.99 % of scipy's Poisson."""
    found = only(group(first_edge(5), bounce=breaks_of(0.5)))
    assert stats.poisson.interval(1 - UNLIKELY, found.strokes * 0.5 / 1000)[0] <= found.double.cases
    assert found.double.cases <= stats.poisson.interval(1 - UNLIKELY, found.strokes * 0.5 / 1000)[1]


def test_a_break_counted_three_times_is_binomial() -> None:
    """A break of 2.3 T holds three samples with probability 0.3; fewer never release."""
    found = only(group(counted(2, 3), bounce=breaks_of(2_300.0)))
    assert p_value(found.double, 0.3) > UNLIKELY


def test_strokes_merged_by_a_slow_release_are_binomial() -> None:
    """A stroke is lost when the rest before it holds fewer than n samples: the share follows from the exponential rest.

    With a rest u the chance of fewer than n samples is 1 up to (n - 1) T, and falls evenly to 0 at n T.
    """
    playing = Playing(shortest_down_ms=30, mean_down_ms=50, shortest_up_ms=0, mean_up_ms=40)
    found = only(group(counted(1, 5), playing=playing))
    share, _ = integrate.quad(lambda u: stats.expon.pdf(u, scale=40) * min(1.0, 5 - u), 0, 5, points=[4])
    rest_before_each = found.strokes - 40 * 20  # the first stroke of each contact and passage follows a long rest
    assert found.strokes > 80_000
    assert p_value(Rate(found.lost.cases, rest_before_each), share) > UNLIKELY


def test_latency_of_a_clean_first_edge_is_even_over_one_period() -> None:
    """From touch to sample the time is even from 0 to T: median and 99 % within what so many strokes allow."""
    found = only(group(first_edge(5)))
    width = 6 / math.sqrt(found.strokes) * 1000
    percentiles = dict(found.touched.percentiles)
    assert abs(percentiles[50.0] - 500) < width
    assert abs(percentiles[99.0] - 990) < width
    assert 990 < (found.touched.greatest or 0) < 1000


@pytest.mark.parametrize(
    ("debounce", "samples"), [(first_edge(6), 1), (counted(3, 9), 3)], ids=["first edge", "counted"]
)
def test_nothing_is_later_than_the_worst_case(debounce: object, samples: int) -> None:
    """From the touch n T + J + B + the rest of the path is never exceeded; within the bounce nothing strikes twice."""
    simulated = group(debounce, bounce=EvenBounce(5_000), jitter_us=60.0, after_sample_us=1_100.0)  # type: ignore[arg-type]  # from the table
    found = only(simulated)
    assert found.touched.greatest is not None
    assert found.touched.greatest <= samples * 1000 + 60 + 5_000 + 1_100
    assert (found.double.cases, found.lost.cases) == (0, 0)


def test_same_seed_same_result() -> None:
    """A result depends on groups, length and seed, and on nothing else."""
    simulated = [group(first_edge(3), bounce=EvenBounce(4_000))]
    assert simulate(simulated, 20, 7) == simulate(simulated, 20, 7)
    assert simulate(simulated, 20, 7) != simulate(simulated, 20, 8)


def test_progress_is_told_and_may_end_it() -> None:
    """The caller hears the share done and, by saying no, gets what was played until then."""
    told: list[float] = []

    def twice(share: float) -> bool:
        told.append(share)
        return len(told) <= 2

    found = simulate([group(first_edge(3))], 40, 1, twice)
    assert told == [0.0, 0.25, 0.5]
    assert (found.complete, found.seconds) == (False, 20.0)
    assert found.groups[0].strokes > 0


def test_ended_before_it_began() -> None:
    """Without a passage there are no strokes, no spread, and nothing is claimed about rates."""
    found = simulate([group(first_edge(3))], 10, 1, lambda _: False)
    assert found == Result(found.groups, 0.0, complete=False)
    assert (found.groups[0].strokes, found.groups[0].touched.greatest) == (0, None)
    assert found.groups[0].lost.per_million_at_most == 1_000_000


@given(cases=st.integers(0, 50), strokes=st.integers(50, 100_000))
def test_the_interval_is_scipys(cases: int, strokes: int) -> None:
    """The upper end is that of scipy's Wilson interval."""
    interval = stats.binomtest(cases, strokes).proportion_ci(0.95, method="wilson")
    assert Rate(cases, strokes).per_million_at_most == pytest.approx(1e6 * interval.high, rel=1e-9)


def test_lost_strokes_are_counted() -> None:
    """A press count longer than any hold loses every stroke, and a contact without bounce never strikes twice."""
    playing = Playing(shortest_down_ms=10, mean_down_ms=10, shortest_up_ms=100, mean_up_ms=150)
    found = only(group(counted(20, 5), playing=playing, bounce=CLEAN), 20)
    assert found.lost.cases == found.strokes > 0
    assert found.lost.per_million == 1_000_000
