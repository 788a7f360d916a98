"""How long an integrator takes to hear a contact that breaks while it is held.

A contact that is closed in at least three of any four samples in a row gains two at least with every four, so that a
lead of M is reached within 4 · ceil(M / 2) of them.  Where every sample is closed by chance, with the same probability
d each time, the lead is a random walk that is thrown back at 0; the mean number of steps until it first stands at M
follows from the difference equations E(h) = 1 + d E(h + 1) + (1 - d) E(h - 1) with E(M) = 0 and E(-1) = E(0)
(W. Feller, An Introduction to Probability Theory and Its Applications, volume 1, chapter XIV, from memory).
"""

from __future__ import annotations

import math

WINDOW = 4
"""Samples of which one may be open."""


def samples_with_breaks(limit: int) -> int:
    """Return within how many samples a contact is heard that is open in no more than one of any four in a row."""
    return WINDOW * math.ceil(limit / 2)


def mean_samples(limit: int, closed_share: float) -> float:
    """Return the mean number of samples until a lead of `limit`, each sample closed with this probability.

    Raises `ValueError` for a share of a half or less, where the mean says nothing of what a player will hear.
    """
    if not 0.5 < closed_share <= 1:
        raise ValueError(f"a contact closed {closed_share:g} of the time found, allowed more than 0.5, up to 1")
    rise, fall = closed_share, 1 - closed_share
    drift = rise - fall
    return limit / drift - fall / drift**2 * (1 - (fall / rise) ** limit)
