"""Which debounce is chosen, and that it really covers the bounce it was chosen for."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.survey.points import PointKind
from retrofit.survey.wishes import DebounceFamily, DebounceWish
from retrofit.timing.choose import COUNT_MAX, HOLD_MAX, ChosenDebounce, ContactBounce, choose_debounce, covered_us
from retrofit.timing.debounce import Debounce
from retrofit.timing.samples import Counted, FirstEdge
from retrofit.timing.trace import events

FIRST_EDGE, CONSECUTIVE, ASYMMETRIC = DebounceFamily.FIRST_EDGE, DebounceFamily.CONSECUTIVE, DebounceFamily.ASYMMETRIC
CLEAN = ContactBounce(kind_max_ms=2.0, kind_source="an invented table", dirty=False)
DIRTY = ContactBounce(kind_max_ms=6.0, kind_source="an invented table", dirty=True)
PERIODS = st.sampled_from([125, 250, 500, 1000, 2000])
KINDS = st.sampled_from([PointKind.KEY, PointKind.STOP, PointKind.PISTON, PointKind.STAGE])


def codes(chosen: ChosenDebounce) -> list[str]:
    """Return the codes of the problems."""
    return [problem.code for problem in chosen.problems]


def model(debounce: Debounce) -> FirstEdge | Counted:
    """Return the sample model of a debounce."""
    if debounce.family is FIRST_EDGE:
        return FirstEdge(debounce.hold)
    return Counted(debounce.press, debounce.release)


def test_clean_keys_get_first_edge_with_one_sample_in_hand() -> None:
    """A clean key contact of 2 ms bounce sampled every 0.5 ms holds off for 4 + 1 samples."""
    chosen = choose_debounce(PointKind.KEY, 500, CLEAN)
    assert (chosen.debounce, chosen.problems) == (Debounce(FIRST_EDGE, hold=5), ())


def test_measured_bounce_is_taken_half_as_long_again() -> None:
    """A worst bounce of 4 ms over 20 strokes needs 6 ms: hold 7 at 1 ms, whatever the kind's table says."""
    bounce = ContactBounce(measured_ms=4.0, strokes=20, kind_max_ms=1.0, kind_source="x", dirty=False)
    chosen = choose_debounce(PointKind.KEY, 1000, bounce)
    assert chosen.debounce.hold == 7
    assert "at worst 4 ms over 20 strokes; half as much again is covered, 6 ms" in chosen.reasons[0]


def test_dirty_keys_get_a_short_press_and_a_bridging_release() -> None:
    """A dirty key contact of 6 ms bounce at 1 ms a sample: 2 samples for on, 7 for off."""
    assert choose_debounce(PointKind.KEY, 1000, DIRTY).debounce == Debounce(ASYMMETRIC, press=2, release=7)


def test_measured_contacts_not_known_to_be_clean_count_as_dirty() -> None:
    """Bounce alone does not make a contact clean."""
    chosen = choose_debounce(PointKind.KEY, 1000, ContactBounce(measured_ms=2.0, strokes=20))
    assert chosen.debounce.family is ASYMMETRIC


def test_press_of_a_dirty_key_stays_within_two_milliseconds() -> None:
    """At 2 ms a sample two samples would take 4 ms, so one must do."""
    assert choose_debounce(PointKind.KEY, 2000, DIRTY).debounce.press == 1


@pytest.mark.parametrize(("period_us", "release"), [(125, 63), (250, 63), (500, 40), (1000, 20), (2000, 10)])
def test_unknown_bounce_is_said_and_waits_as_long_as_repeats_allow(period_us: int, release: int) -> None:
    """Without a reading the release waits 20 ms, or as long as the firmware counts, and the reason says unknown."""
    chosen = choose_debounce(PointKind.KEY, period_us, ContactBounce())
    assert chosen.debounce.release == release
    assert "unknown" in chosen.reasons[0]
    assert "unknown" in chosen.reasons[1]


@pytest.mark.parametrize(("kind", "count"), [(PointKind.STOP, 15), (PointKind.PISTON, 12), (PointKind.STAGE, 10)])
def test_other_controls_must_agree_with_themselves(kind: PointKind, count: int) -> None:
    """Stops about 15 ms, pistons 12 ms, stages 10 ms (common practice, no source)."""
    assert choose_debounce(kind, 1000, CLEAN).debounce == Debounce(CONSECUTIVE, press=count, release=count)


def test_a_stop_that_bounces_longer_waits_longer() -> None:
    """A tab that bounces 18 ms gets 19 samples of 1 ms."""
    bounce = ContactBounce(kind_max_ms=18, kind_source="x")
    assert choose_debounce(PointKind.STOP, 1000, bounce).debounce.press == 19


def test_bounce_beyond_what_repeats_allow_is_reported() -> None:
    """A dirty key of 30 ms bounce is capped at 20 ms, and the plan says that it may sound twice."""
    chosen = choose_debounce(PointKind.KEY, 1000, ContactBounce(kind_max_ms=30, kind_source="x", dirty=True))
    assert chosen.debounce.release == 20
    assert codes(chosen) == ["bounce-longer-than-debounce"]


def test_counts_that_the_firmware_cannot_hold_are_reported() -> None:
    """15 ms at 125 µs are 120 samples, but the firmware counts to 63; a hold-off goes to 255."""
    assert codes(choose_debounce(PointKind.STOP, 125, CLEAN)) == ["debounce-count-too-large"] * 2
    wish = DebounceWish(family=FIRST_EDGE, hold_ms=40)
    chosen = choose_debounce(PointKind.KEY, 125, CLEAN, wish)
    assert (chosen.debounce.hold, codes(chosen)) == (255, ["debounce-count-too-large", "quick-repeats-merged"])


def test_a_wish_is_turned_into_samples_and_wins() -> None:
    """Wished milliseconds become samples, rounded up; what the wish leaves open comes from the default."""
    wish = DebounceWish(family=ASYMMETRIC, press_ms=1.1, release_ms=12)
    assert choose_debounce(PointKind.KEY, 500, CLEAN, wish).debounce == Debounce(ASYMMETRIC, press=3, release=24)
    wish = DebounceWish(family=CONSECUTIVE, press_ms=8)
    assert choose_debounce(PointKind.STOP, 1000, CLEAN, wish).debounce == Debounce(CONSECUTIVE, press=8, release=8)
    wish = DebounceWish(family=FIRST_EDGE)
    assert choose_debounce(PointKind.KEY, 1000, DIRTY, wish).debounce == Debounce(FIRST_EDGE, hold=7)


def test_a_wish_shorter_than_the_bounce_is_reported() -> None:
    """A wished hold-off of 3 ms under a dirty contact of 6 ms is obeyed and reported."""
    chosen = choose_debounce(PointKind.KEY, 1000, DIRTY, DebounceWish(family=FIRST_EDGE, hold_ms=3))
    assert (chosen.debounce.hold, codes(chosen)) == (3, ["bounce-longer-than-debounce"])
    assert "is 6 ms" in chosen.problems[0].found
    assert "covers 3 ms" in chosen.problems[0].found


def test_a_wish_that_merges_quick_repeats_is_reported() -> None:
    """A wished release of 25 ms for a key is obeyed and reported; for a stop it is in order."""
    wish = DebounceWish(family=ASYMMETRIC, press_ms=2, release_ms=25)
    assert codes(choose_debounce(PointKind.KEY, 1000, DIRTY, wish)) == ["quick-repeats-merged"]
    assert codes(choose_debounce(PointKind.STOP, 1000, DIRTY, wish)) == []


@pytest.mark.parametrize(
    ("wish", "unused"),
    [
        (DebounceWish(family=FIRST_EDGE, hold_ms=8, press_ms=2), "press_ms"),
        (DebounceWish(family=CONSECUTIVE, hold_ms=8), "hold_ms"),
    ],
)
def test_a_wish_of_another_family_is_reported(wish: DebounceWish, unused: str) -> None:
    """A figure that the family does not use is named."""
    chosen = choose_debounce(PointKind.STOP, 1000, CLEAN, wish)
    assert codes(chosen) == ["debounce-wish-unused"]
    assert chosen.problems[0].found.startswith(unused)


@pytest.mark.parametrize("measured_ms", [-3.0, math.inf, math.nan])
def test_a_bounce_that_is_no_time_counts_as_unknown(measured_ms: float) -> None:
    """A negative or endless bounce is reported, and not calculated with."""
    chosen = choose_debounce(PointKind.KEY, 1000, ContactBounce(measured_ms=measured_ms, dirty=False))
    assert codes(chosen) == ["bounce-no-time"]
    assert chosen.debounce == choose_debounce(PointKind.KEY, 1000, ContactBounce()).debounce


def test_few_strokes_are_said() -> None:
    """A worst of five strokes is used, and the reason says that 20 are wanted; so is an unknown number."""
    assert "20 strokes are wanted" in choose_debounce(PointKind.KEY, 1000, ContactBounce(1.0, 5)).reasons[0]
    assert "an unknown number of strokes" in choose_debounce(PointKind.KEY, 1000, ContactBounce(1.0)).reasons[0]


def test_a_shoe_has_no_debounce() -> None:
    """Asking for a shoe's debounce is refused."""
    with pytest.raises(ValueError, match="converter"):
        choose_debounce(PointKind.SHOE, 1000, CLEAN)


@settings(max_examples=200, deadline=None)
@given(
    kind=KINDS,
    period_us=PERIODS,
    bounce_us=st.integers(0, 40_000),
    dirty=st.sampled_from([True, False, None]),
    shares=st.lists(st.floats(0.001, 1.0), min_size=2, max_size=24),
    phase=st.floats(0, 0.999),
)
def test_a_chosen_debounce_without_problems_sounds_once_per_stroke(
    kind: PointKind, period_us: int, bounce_us: int, dirty: bool | None, shares: list[float], phase: float
) -> None:
    """Press and release bursts as long as the declared bounce give one on and one off, or the choice said otherwise."""
    chosen = choose_debounce(kind, period_us, ContactBounce(kind_max_ms=bounce_us / 1000, kind_source="x", dirty=dirty))
    assert 1 <= max(chosen.debounce.press, chosen.debounce.release) <= COUNT_MAX
    assert chosen.debounce.hold <= HOLD_MAX
    if chosen.problems:
        return
    whole = shares[: len(shares) // 2 * 2]
    ends = [sum(whole[: i + 1]) / sum(whole) * bounce_us for i in range(len(whole))]
    edges = [start + end for start in (10_000, 300_000) for end in (0, *ends)]
    times = [(i + phase) * period_us for i in range(600_000 // period_us)]
    assert [state for _, state in events(model(chosen.debounce), edges, times)] == [True, False]


@pytest.mark.parametrize(
    ("debounce", "covered"),
    [
        (Debounce(FIRST_EDGE, hold=5), 5000),
        (Debounce(FIRST_EDGE, hold=1), 1000),
        (Debounce(CONSECUTIVE, press=4, release=4), 7000),
        (Debounce(ASYMMETRIC, press=2, release=12), 13_000),
        (Debounce(ASYMMETRIC, press=1, release=3), 3000),
    ],
)
def test_covered_bounce_is_the_longest(debounce: Debounce, covered: int) -> None:
    """The worst burst of the covered span sounds once at every phase; two microseconds more can sound twice."""
    assert covered_us(debounce, 1000) == covered

    def most(span_us: int) -> int:
        closed_us = 1 if debounce.family is FIRST_EDGE else (debounce.press - 1) * 1000 + 1
        burst = [10_000, 10_000 + closed_us, 10_000 + span_us]
        return max(len(events(model(debounce), burst, range(phase, 60_000, 1000))) for phase in range(1000))

    assert (most(covered), most(covered + 2)) == (1, 3)
