"""The integrator: its model against worked cases, its promises against the model, its means against simulation."""

from __future__ import annotations

import random
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from retrofit.survey.points import PointKind
from retrofit.survey.wishes import DebounceFamily, DebounceWish
from retrofit.timing.choose import ContactBounce, choose_debounce, covered_us
from retrofit.timing.debounce import Debounce
from retrofit.timing.guarantees import Sampling, guarantee_sentences
from retrofit.timing.integrator import mean_samples, samples_with_breaks
from retrofit.timing.promises import promises
from retrofit.timing.samples import Counted, Integrator
from retrofit.timing.trace import level_at
from tests.timing.breaches import PERIOD_US, counted_breaches, reported, states

INTEGRATOR = DebounceFamily.INTEGRATOR
LIMITS = st.integers(1, 12)
DIRTY = ContactBounce(kind_max_ms=6.0, kind_source="an invented table", dirty=True)
STROKES = 4000
"""Strokes of a simulation; its seed is fixed."""


def fired(debounce: Integrator | Counted, levels: str) -> list[tuple[int, bool]]:
    """Return sample number, counted from 1, and new state of each event."""
    changes = ((number, debounce.sample(level == "1")) for number, level in enumerate(levels, 1))
    return [(number, state) for number, state in changes if state is not None]


def test_d4_chatter_is_heard_at_the_fourteenth_sample_and_holds() -> None:
    """D4: 3 closed and 1 open, repeated, reach a limit of 8 at sample 14 and hold; 5 in a row never come."""
    assert fired(Integrator(8, 8), "1110" * 100) == [(14, True)]
    assert fired(Counted(5, 5), "1110" * 100) == []


def test_a_single_spike_costs_two_samples() -> None:
    """A press with one open sample inside is heard two samples later than a clean one."""
    assert fired(Integrator(8, 8), "11111111") == [(8, True)]
    assert fired(Integrator(8, 8), "1110111111") == [(10, True)]


def test_strokes_of_twice_the_limit_are_all_heard() -> None:
    """Least repetition is 2 M samples: 8 closed and 8 open are heard, 7 and 8 never."""
    assert len(fired(Integrator(8, 8), ("1" * 8 + "0" * 8) * 6)) == 12
    assert fired(Integrator(8, 8), ("1" * 7 + "0" * 8) * 6) == []


def test_a_contact_closed_half_of_the_time_settles_only_by_chance() -> None:
    """Closed and open in turn never lead by 2."""
    assert fired(Integrator(2, 2), "10" * 500) == []


@settings(max_examples=200, deadline=None)
@given(press=LIMITS, release=LIMITS, seed=st.integers(0, 2**32), share=st.sampled_from([0.3, 0.5, 0.7]))
def test_the_lead_is_what_the_words_say(press: int, release: int, seed: int, share: float) -> None:
    """On any trace, one event after another is where a plain lead over the reported state first reaches its limit."""
    chance = random.Random(seed)
    levels = [chance.random() < share for _ in range(400)]
    model, state, lead = Integrator(press, release), False, 0
    for level in levels:
        lead = max(0, lead + (1 if level != state else -1))
        reached = lead == (release if state else press)
        assert model.sample(level) == (not state if reached else None)
        if reached:
            state, lead = not state, 0


@settings(max_examples=60, deadline=None)
@given(press=LIMITS, release=LIMITS)
def test_lone_pulses_keep_the_promises_of_a_count(press: int, release: int) -> None:
    """From rest, closures and breaks are heard and not heard as with so many samples in a row."""
    assert counted_breaches(lambda: Integrator(press, release), press, release) == []


@pytest.mark.parametrize(("press", "release"), [(1, 0), (-1, 0), (0, 1), (0, -1)])
def test_an_integrator_with_a_wrong_limit_is_caught(press: int, release: int) -> None:
    """A model whose limit is one sample off breaks a promise of the right one."""
    assert counted_breaches(lambda: Integrator(5 + press, 7 + release), 5, 7) != []


def with_breaks(gaps: list[int]) -> list[bool]:
    """Return samples that are open once and then closed for as many as each gap says, closed to begin with."""
    return [True] * 3 + [level for gap in gaps for level in (False, *[True] * gap)]


@settings(max_examples=200, deadline=None)
@given(limit=LIMITS, first=st.integers(0, 3), gaps=st.lists(st.integers(3, 9), min_size=30, max_size=30))
def test_one_open_sample_of_any_four_never_keeps_a_contact_silent(limit: int, first: int, gaps: list[int]) -> None:
    """Whatever the pattern, it is heard within 4 ceil(M / 2) samples and, with a limit above 1, never broken."""
    levels = with_breaks(gaps)[first:]
    heard = fired(Integrator(limit, max(2, limit)), "".join("01"[level] for level in levels))
    assert [state for _, state in heard] == [True]
    assert heard[0][0] <= samples_with_breaks(limit)


def test_the_bound_for_one_open_of_four_is_met() -> None:
    """Closed, open, closed, closed, over and over, needs all of the 16 samples for a limit of 8."""
    assert fired(Integrator(8, 8), "1011" * 5)[0][0] == 16 == samples_with_breaks(8)


@pytest.mark.parametrize(("share", "mean"), [(0.9, 9.8), (0.75, 15.0), (0.6, 30.0)])
def test_means_of_a_limit_of_eight(share: float, mean: float) -> None:
    """D4's means at random duty, to a simulation's accuracy: 9.9, 15.0 and 30 samples."""
    assert mean_samples(8, share) == pytest.approx(mean, rel=0.02)


@pytest.mark.parametrize("share", [0.9, 0.75, 0.6])
@pytest.mark.parametrize("limit", [1, 3, 8])
def test_means_solve_the_equations_of_the_walk(limit: int, share: float) -> None:
    """The mean is that of the chain's first passage, solved as linear equations by numpy."""
    chain = np.eye(limit)
    for height in range(limit):
        chain[height, max(0, height - 1)] -= 1 - share
        if height + 1 < limit:
            chain[height, height + 1] -= share
    assert mean_samples(limit, share) == pytest.approx(np.linalg.solve(chain, np.ones(limit))[0])


@pytest.mark.parametrize("share", [0.9, 0.75])
def test_means_lie_within_a_simulation_of_the_model(share: float) -> None:
    """The model on random samples: the exact mean lies in the 99.9 % t interval (scipy.stats) of 4000 strokes."""
    chance = random.Random(20)
    taken = []
    for _ in range(STROKES):
        model, count = Integrator(8, 8), 1
        while model.sample(chance.random() < share) is None:
            count += 1
        taken.append(count)
    low, high = stats.t.interval(0.999, STROKES - 1, loc=np.mean(taken), scale=stats.sem(taken))
    assert low < mean_samples(8, share) < high
    assert high - low < 1.0


@pytest.mark.parametrize("share", [0.5, 0.2, 0.0, 1.1])
def test_no_mean_where_it_says_nothing(share: float) -> None:
    """At half of the time or less, a mean is refused with what is allowed."""
    with pytest.raises(ValueError, match=r"allowed more than 0\.5"):
        mean_samples(8, share)


def test_limits_below_one_are_refused() -> None:
    """An integrator that needs no sample is refused with its limits in the words."""
    with pytest.raises(ValueError, match="limits of 8 and 0 samples"):
        Integrator(8, 0)


def test_promises_in_words() -> None:
    """M 8 at 1 ms: lone pulses as a count of 8; one open of four within 16 ms; 9.85 and 15 ms on average."""
    assert guarantee_sentences(PointKind.STOP, Debounce(INTEGRATOR, press=8, release=8), 1000) == (
        "A closure from rest shorter than 7 ms is never heard; one of 8 ms or more always is.",
        "A break of a steady contact shorter than 7 ms is never heard; one of 8 ms or more always is.",
        "A contact that is open in no more than one of any four samples in a row is heard within 16 ms, "
        "and its note holds.",
        "Closed by chance it is heard, nine tenths of the time after about 9.84 ms, "
        "three quarters of the time after about 15 ms; half of the time, perhaps never.",
        "Every stroke that is down for 8 ms and up for 8 ms is heard; "
        "more than 62.5 strokes a second of one stop are merged.",
    )


def test_a_limit_of_one_promises_no_held_note() -> None:
    """Where one open sample ends a note, nobody is told that it holds."""
    _, breaks, chatter, *_ = guarantee_sentences(PointKind.STOP, Debounce(INTEGRATOR, press=3, release=1), 1000)
    assert breaks == "A break of any length that meets a sample sends off."
    assert chatter.endswith("is heard within 8 ms.")


def test_it_fails_where_a_contact_is_open_half_of_the_time() -> None:
    """What an integrator cannot do is said, and not what a count in a row cannot do."""
    found = promises(Debounce(INTEGRATOR, press=8, release=8), Sampling(1000.0)).fails_when
    assert "a dirty contact that is closed for half of the time or less may never sound" in found
    assert not any("in a row" in words for words in found)


@settings(max_examples=200, deadline=None)
@given(
    press=LIMITS,
    release=LIMITS,
    gaps=st.lists(st.integers(1, 2_000), min_size=1, max_size=20),
    phase=st.integers(0, PERIOD_US - 1),
)
def test_steady_levels_are_reported_in_time(press: int, release: int, gaps: list[int], phase: int) -> None:
    """After any burst, what the contact settles to is reported within its limit of periods, events in turn."""
    edges = [7_000 + sum(gaps[: i + 1]) for i in range(len(gaps))]
    found = reported(lambda: Integrator(press, release), edges, phase)
    assert [state for _, state in found] == [i % 2 == 0 for i in range(len(found))]
    assert (len(found) % 2 == 1) == level_at(edges, edges[-1])
    limit = press if level_at(edges, edges[-1]) else release
    assert all(time < edges[-1] + limit * PERIOD_US for time, _ in found)
    assert all(
        later - sooner >= (press if state else release) * PERIOD_US for (sooner, _), (later, state) in pairwise(found)
    )


@settings(max_examples=200, deadline=None)
@given(press=LIMITS, release=LIMITS, burst=st.lists(st.floats(0, 1), max_size=12), phase=st.integers(0, PERIOD_US - 1))
def test_covered_bounce_strikes_once(press: int, release: int, burst: list[float], phase: int) -> None:
    """Any burst within the span that is covered gives exactly one on and no off."""
    covered = covered_us(Debounce(INTEGRATOR, press=press, release=release), PERIOD_US)
    further = sorted(int(share * max(0.0, covered - 1)) for share in burst[: len(burst) // 2 * 2])
    assert states(lambda: Integrator(press, release), [7_000, *(7_000 + time for time in further)], phase) == [True]


def test_more_than_is_covered_can_strike_twice() -> None:
    """A burst two microseconds longer than covered, closed and then open as long as counted, strikes twice."""
    covered = int(covered_us(Debounce(INTEGRATOR, press=3, release=4), PERIOD_US))
    edges = [7_000, 7_000 + 2 * PERIOD_US + 1, 7_000 + covered + 2]
    twice = {len(states(lambda: Integrator(3, 4), edges, phase)) for phase in range(PERIOD_US)}
    assert twice == {1, 3}


@pytest.mark.parametrize(("kind", "count"), [(PointKind.STOP, 15), (PointKind.PISTON, 12), (PointKind.STAGE, 10)])
def test_dirty_controls_get_an_integrator(kind: PointKind, count: int) -> None:
    """A control with dirty contacts need not agree with itself in a row; the reason says why."""
    chosen = choose_debounce(kind, 1000, DIRTY)
    assert chosen.debounce == Debounce(INTEGRATOR, press=count, release=count)
    assert "its contacts are dirty" in chosen.reasons[1]


def test_dirty_keys_do_not() -> None:
    """A key must be quick, so that a short press and a bridging release are better."""
    assert choose_debounce(PointKind.KEY, 1000, DIRTY).debounce.family is DebounceFamily.ASYMMETRIC


def test_a_wish_is_turned_into_limits() -> None:
    """Wished milliseconds become samples; a release that is left open is the press's; a hold-off is no part of it."""
    wish = DebounceWish(family=INTEGRATOR, press_ms=8)
    assert choose_debounce(PointKind.KEY, 500, DIRTY, wish).debounce == Debounce(INTEGRATOR, press=16, release=16)
    wish = DebounceWish(family=INTEGRATOR, press_ms=4, release_ms=10, hold_ms=3)
    chosen = choose_debounce(PointKind.STOP, 1000, DIRTY, wish)
    assert chosen.debounce == Debounce(INTEGRATOR, press=4, release=10)
    assert [problem.code for problem in chosen.problems] == ["debounce-wish-unused"]
