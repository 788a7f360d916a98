"""Debounce over the gaps of a supply without a capacitor."""

from __future__ import annotations

import pytest

from retrofit.circuits.result import Span
from retrofit.circuits.sense.line import Ripple
from retrofit.plan.gaps import between_gaps_us, bridge_gaps, samples_in_gap
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.choose import ChosenDebounce
from retrofit.timing.debounce import Debounce


@pytest.mark.parametrize(
    ("gap_us", "period_us", "spoiled"), [(2_520, 1000, 3), (12_520, 1000, 13), (2_520, 500, 6), (2_000, 1000, 3)]
)
def test_a_gap_spoils_at_most_so_many_samples(gap_us: float, period_us: float, spoiled: int) -> None:
    """D6: 2.52 ms of gap spoil at most 3 samples of 1 ms, 12.52 ms at most 13; counted here by trying every phase."""
    phases = [step * period_us / 100 for step in range(100)]
    tried = max(sum(phase + n * period_us <= gap_us for n in range(99)) for phase in phases)
    assert samples_in_gap(gap_us, period_us) == spoiled == tried


@pytest.mark.parametrize(
    ("given", "press", "release"),
    [
        (Debounce(DebounceFamily.FIRST_EDGE, hold=2), 1, 4),
        (Debounce(DebounceFamily.FIRST_EDGE, hold=9), 1, 9),
        (Debounce(DebounceFamily.ASYMMETRIC, press=2, release=3), 2, 4),
        (Debounce(DebounceFamily.CONSECUTIVE, press=12, release=12), 12, 12),
    ],
)
def test_a_release_outlasts_the_gap(given: Debounce, press: int, release: int) -> None:
    """D6: T = 1 ms and gaps of 2.52 ms want a release of at least 4 samples; a longer one that was chosen stays."""
    found = bridge_gaps(ChosenDebounce(given, ("as chosen",)), 2_520, 1000)
    assert found.debounce == Debounce(DebounceFamily.ASYMMETRIC, press=press, release=release)
    assert found.problems == ()
    assert "2.52 ms" in found.reasons[-1]


def test_a_gap_longer_than_the_firmware_counts_is_said() -> None:
    """Half-wave gaps at a quick period want more samples than can be counted."""
    found = bridge_gaps(ChosenDebounce(Debounce(DebounceFamily.FIRST_EDGE, hold=9), ()), 12_520, 125)
    assert found.debounce.release == 63
    assert [problem.code for problem in found.problems] == ["debounce-count-too-large"]


@pytest.mark.parametrize(("full_wave", "gap_us", "press"), [(True, 2_520, 7), (False, 12_520, 7)])
def test_a_press_fits_between_two_gaps(full_wave: bool, gap_us: float, press: int) -> None:
    """D6: of 10 ms (20 ms for half wave) at 50 Hz less the gap about 7.4 ms are left, so 12 samples of 1 ms never fit.

    The samples in the time between two gaps are counted here by trying every phase.
    """
    between_us = between_gaps_us(Ripple(Span.exact(15.57), 50.0, full_wave), gap_us)
    tried = min(sum(0 <= n * 1000 + phase / 97 * 1000 < between_us for n in range(99)) for phase in range(97))
    given = ChosenDebounce(Debounce(DebounceFamily.CONSECUTIVE, press=12, release=20), ())
    found = bridge_gaps(given, gap_us, 1000, between_us)
    assert found.debounce.press == press == tried
    assert "a press of 12 samples would never fit between two gaps" in found.reasons[-1]


def test_a_time_between_gaps_that_samples_may_miss_is_said() -> None:
    """0.9 ms between gaps may hold no sample of 1 ms at all."""
    found = bridge_gaps(ChosenDebounce(Debounce(DebounceFamily.FIRST_EDGE, hold=2), ()), 9_000, 1000, 900)
    assert [problem.code for problem in found.problems] == ["press-between-gaps"]
