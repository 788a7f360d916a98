"""Chatter in step with the mains: how many times from on to on are whole periods of it, and how many by chance."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import log

from retrofit.proving.chance import at_least
from retrofit.proving.windows import Windows

MAINS_HZ = (50, 60, 100, 120)
"""The mains, and the mains rectified both ways (common practice, no source)."""
SPAN_US = 60_000
"""Longer times say nothing: over more than three periods of 50 Hz too many whole numbers fit."""
DRIFT_US = 240
"""What a mains that is 0.4 % off, 0.2 Hz of 50, makes of the longest of these times (common practice, no source)."""
CHANCE_MOST = 0.5
"""Where chance alone hits so often, the board's sampling is too coarse for this frequency."""
LOCKED_LEAST = 0.6
"""Least share in step: half the error of two samples holds three quarters of a triangular distribution."""


@dataclass(frozen=True, slots=True)
class HumFit:
    """Of `periods` times from on to on, `locked` are whole periods of `hz`; `chance` is the share without any hum."""

    hz: int
    locked: int
    periods: int
    chance: float

    @property
    def share(self) -> float:
        """The share in step."""
        return self.locked / self.periods if self.periods else 0.0

    @property
    def by_chance(self) -> float:
        """How often chance gives so many in step, or more."""
        return at_least(self.locked, self.periods, self.chance)

    @property
    def weight(self) -> float:
        """How much better this frequency explains the times than chance does, as a logarithm of likelihoods."""
        if self.share <= self.chance:
            return 0.0
        off = 1 - self.share
        without = off * log(off / (1 - self.chance)) if off else 0.0
        return self.periods * (self.share * log(self.share / self.chance) + without)


def histogram(periods: Iterable[int], windows: Windows) -> tuple[HumFit, ...]:
    """Return how well each frequency fits, those left out for which the sampling is too coarse.

    Times near the quickest repetition that the board can say are left out: contacts that chatter without end are heard
    at that rate, whatever makes them chatter.
    """
    usable = [p for p in periods if p <= SPAN_US and abs(p - windows.cycle_us) > windows.grid_us]
    near_us = windows.grid_us / 2 + DRIFT_US
    fits = (_fit(hz, usable, near_us) for hz in MAINS_HZ)
    return tuple(fit for fit in fits if fit.chance < CHANCE_MOST)


def _fit(hz: int, periods: list[int], near_us: float) -> HumFit:
    whole_us = 1_000_000 / hz
    locked = sum(round(p / whole_us) > 0 and abs(p - round(p / whole_us) * whole_us) <= near_us for p in periods)
    return HumFit(hz, locked, len(periods), min(1.0, 2 * near_us / whole_us))


def hum_in(periods: Iterable[int], windows: Windows, level: float) -> HumFit | None:
    """Return the frequency that explains the times best, if chance explains them less often than `level`."""
    fits = [f for f in histogram(periods, windows) if f.share >= LOCKED_LEAST and f.by_chance < level]
    return max(fits, key=lambda fit: fit.weight, default=None)
