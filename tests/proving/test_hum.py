"""Chatter in step with the mains: found at its frequency, not found where there is none."""

from __future__ import annotations

import random

import pytest
from scipy import special, stats

from retrofit.proving.hum import MAINS_HZ, HumFit, histogram, hum_in
from retrofit.proving.windows import Windows

WINDOWS = Windows(cycle_us=3_000, grid_us=1_500)
LEVEL = 1e-5


def in_step(hz: float, count: int, seed: int, sample_us: int = 500) -> list[int]:
    """Times from on to on of a contact that opens with the mains and is heard one to three periods later.

    Both ends wait for a sample, and come up to a quarter of a millisecond late.
    """
    rng = random.Random(seed)
    whole = [rng.choice([1, 1, 2, 3]) * 1_000_000 / hz for _ in range(count)]
    return [round(w + rng.uniform(0, sample_us) - rng.uniform(0, sample_us) + rng.uniform(-250, 250)) for w in whole]


@pytest.mark.parametrize("hz", MAINS_HZ)
@pytest.mark.parametrize("seed", range(5))
def test_chatter_of_the_mains_is_named_by_its_frequency(hz: int, seed: int) -> None:
    """Each frequency is told from the three others by fifty times, with a mains that is a fifth of a percent off."""
    fit = hum_in(in_step(hz * 1.002, 50, seed), WINDOWS, LEVEL)
    assert fit is not None
    assert fit.hz == hz


def test_chatter_without_hum_is_not_accused() -> None:
    """Of two thousand contacts that chatter at random no more are accused than the level allows."""
    rng = random.Random(7)
    wrong = 0
    for _ in range(2000):
        mean_us = rng.uniform(4_000, 30_000)
        wrong += hum_in([round(3_000 + rng.expovariate(1 / mean_us)) for _ in range(40)], WINDOWS, LEVEL) is not None
    assert stats.binomtest(wrong, 2000, LEVEL * len(MAINS_HZ), "greater").pvalue > 0.001


@pytest.mark.parametrize("hz", MAINS_HZ)
def test_the_share_that_chance_gives_is_as_stated(hz: int) -> None:
    """Times spread evenly over whole periods are in step as often as the stated chance (scipy's binomial test)."""
    rng = random.Random(hz)
    whole_us = 1e6 / hz
    times = [round(rng.uniform(0.5 * whole_us, 2.5 * whole_us)) for _ in range(5000)]
    fit = next(fit for fit in histogram(times, Windows(cycle_us=0, grid_us=1_500)) if fit.hz == hz)
    assert stats.binomtest(fit.locked, fit.periods, fit.chance).pvalue > 0.001


def test_chance_and_weight_are_scipy_s() -> None:
    """The probability of so many in step is scipy's binomial test, the weight scipy's relative entropy."""
    fit = HumFit(100, 30, 40, 0.2)
    assert fit.by_chance == pytest.approx(stats.binomtest(30, 40, 0.2, "greater").pvalue)
    assert fit.weight == pytest.approx(40 * (special.rel_entr(0.75, 0.2) + special.rel_entr(0.25, 0.8)))
    assert HumFit(100, 4, 40, 0.2).weight == 0


def test_the_quickest_repetition_of_the_board_is_no_hum() -> None:
    """Endless chatter is heard at the board's own rate, which proves nothing though it is a mains period."""
    assert hum_in([20_000] * 200, Windows(cycle_us=20_000, grid_us=1_500), LEVEL) is None
    assert hum_in([20_000] * 200, WINDOWS, LEVEL) is not None


def test_few_times_prove_nothing() -> None:
    """Three times in step are explained by chance."""
    assert hum_in([10_000] * 3, WINDOWS, LEVEL) is None


def test_a_frequency_for_which_the_sampling_is_too_coarse_is_left_out() -> None:
    """Where chance hits half of the time nothing can be told."""
    assert [fit.hz for fit in histogram([20_000], Windows(grid_us=5_500))] == [50, 60]
