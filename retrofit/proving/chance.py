"""How often chance alone would show what was seen: exact tails, from counts alone.

Whoever looks at many contacts finds something odd at one of them by chance, so that the level of a whole look is
shared out among the contacts.
"""

from __future__ import annotations

from math import comb

LEVEL = 0.001
"""How often a whole look at a healthy console may accuse anything at all by chance."""


def at_least(hits: int, trials: int, chance: float) -> float:
    """Return the probability of so many hits or more, each of the trials hitting by this chance (binomial tail)."""
    if hits <= 0:
        return 1.0
    return min(1.0, sum(comb(trials, n) * chance**n * (1 - chance) ** (trials - n) for n in range(hits, trials + 1)))


def all_among_the_longest(own: int, others: int, others_as_long: int) -> float:
    """Return the probability that `own` values are all among the longest `own` + `others_as_long` of all of them.

    It holds for any distribution, if only all `own` + `others` values were drawn alike: it counts ways of choosing
    (the hypergeometric distribution).
    """
    return comb(own + others_as_long, own) / comb(own + others, own)


def trials_needed(chance: float, level: float) -> int:
    """Return how many trials, all of them hits, are needed before chance explains them less often than `level`."""
    if not 0 < chance < 1 or not 0 < level < 1:
        raise ValueError(f"chance {chance} and level {level} found, allowed more than 0 and less than 1")
    trials = 1
    while chance**trials >= level:
        trials += 1
    return trials
