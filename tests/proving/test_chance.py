"""Probabilities, against scipy's distributions."""

from __future__ import annotations

from fractions import Fraction
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from retrofit.proving.chance import all_among_the_longest, at_least, trials_needed


@given(st.integers(1, 512), st.floats(0.01, 0.99), st.data())
def test_the_tail_of_so_many_hits_is_scipy_s_binomial(trials: int, chance: float, data: st.DataObject) -> None:
    """So many hits or more are as probable as scipy says, down to where scipy's own figures begin to lose digits."""
    hits = data.draw(st.integers(0, trials))
    assert at_least(hits, trials, chance) == pytest.approx(
        stats.binom.sf(hits - 1, trials, chance), rel=1e-6, abs=1e-200
    )


@given(st.integers(1, 200), st.integers(1, 63), st.data())
def test_the_tail_is_exact_however_small(trials: int, sixty_fourths: int, data: st.DataObject) -> None:
    """It is what fractions without rounding give, also far below anything that ever happens."""
    hits = data.draw(st.integers(0, trials))
    chance = Fraction(sixty_fourths, 64)
    terms = (comb(trials, n) * chance**n * (1 - chance) ** (trials - n) for n in range(hits, trials + 1))
    assert at_least(hits, trials, float(chance)) == pytest.approx(float(sum(terms)), rel=1e-9, abs=1e-300)


@given(st.integers(1, 30), st.integers(1, 200), st.integers(0, 200))
def test_being_among_the_longest_is_scipy_s_hypergeometric(own: int, others: int, as_long: int) -> None:
    """All of one's own among the longest is drawing them all from those, without putting back."""
    as_long = min(as_long, others)
    expected = stats.hypergeom.pmf(own, own + others, own + as_long, own)
    assert all_among_the_longest(own, others, as_long) == pytest.approx(expected, rel=1e-6)


@given(st.floats(0.05, 0.9), st.floats(1e-6, 0.5))
def test_the_trials_that_are_needed_are_the_fewest_that_suffice(chance: float, level: float) -> None:
    """With all of them hits, they lie below the level by scipy's test, and one fewer do not."""
    needed = trials_needed(chance, level)
    assert stats.binomtest(needed, needed, chance, "greater").pvalue < level * (1 + 1e-9)
    assert needed == 1 or stats.binomtest(needed - 1, needed - 1, chance, "greater").pvalue >= level * (1 - 1e-9)


@pytest.mark.parametrize(("chance", "level"), [(0, 0.1), (1, 0.1), (0.5, 0), (0.5, 1)])
def test_what_no_number_of_trials_can_tell_is_refused(chance: float, level: float) -> None:
    """A chance of nothing or all and a level of nothing or all have no answer."""
    with pytest.raises(ValueError, match="allowed more than 0 and less than 1"):
        trials_needed(chance, level)
