"""Contacts that bounce: seeded bursts of edges for presses, releases and dropouts, in microseconds.

Written from measurements of switches, not from the firmware that has to live with them.  A burst begins with its first
edge and has settled at its last one; the number of edges is odd, so that it ends in the other state.

Lengths follow an exponential distribution around 1.6 ms, cut off at the contact's own longest bounce: of 16 switch
types the average was 1557 µs and the longest 6200 µs (J. Ganssle, A Guide to Debouncing, quoted at second hand).  One
stroke in eight uses the longest bounce to the full.  Edges between the first and the last fall at independent uniform
times: that gives many short spikes and some long wrong levels, as on an oscilloscope.  How many edges real contacts
make was not found in a published table; up to 24 is invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

MEAN_BOUNCE_US = 1557.0
LONGEST_KNOWN_US = 6200.0
MOST_PAIRS = 12
FULL_LENGTH_SHARE = 1 / 8

Edge = tuple[float, bool]
"""A moment in microseconds and the state of the contact from then on; True is closed."""


@dataclass(frozen=True)
class Burst:
    """Edges of one change of state, in order of time; the last one leaves the contact in its new state."""

    edges: tuple[Edge, ...]

    @property
    def first_us(self) -> float:
        """The moment of the first edge."""
        return self.edges[0][0]

    @property
    def settled_us(self) -> float:
        """The moment of the last edge."""
        return self.edges[-1][0]

    @property
    def state(self) -> bool:
        """The state in which the contact ends."""
        return self.edges[-1][1]


def exact_burst(rng: Random, start_us: float, state: bool, length_us: float, pairs: int | None = None) -> Burst:
    """Return a burst that lasts exactly `length_us` and ends in `state`, with `pairs` of extra edges inside."""
    if length_us <= 0:
        return Burst(((start_us, state),))
    inner = 2 * (rng.randint(1, MOST_PAIRS) if pairs is None else pairs) - 1
    times = [start_us, *sorted(start_us + rng.random() * length_us for _ in range(inner)), start_us + length_us]
    return Burst(tuple((time, state if turn % 2 == 0 else not state) for turn, time in enumerate(times)))


def random_burst(rng: Random, start_us: float, state: bool, longest_us: float) -> Burst:
    """Return a burst of random length up to `longest_us`."""
    full = rng.random() < FULL_LENGTH_SHARE
    length_us = longest_us if full else min(rng.expovariate(1 / MEAN_BOUNCE_US), longest_us)
    return exact_burst(rng, start_us, state, length_us)


def dropout(start_us: float, length_us: float, state: bool) -> tuple[Edge, Edge]:
    """Return a contact's leaving `state` for `length_us`: dirt under a held key, or a spike on an idle line."""
    return (start_us, not state), (start_us + length_us, state)


def samples_within(start_us: float, length_us: float, first_sample_us: float, period_us: float) -> int:
    """Return how many of the samples at `first_sample_us + n * period_us` fall into the half-open interval."""
    before = -(-(start_us - first_sample_us) // period_us)
    until = -(-(start_us + length_us - first_sample_us) // period_us)
    return int(until - before)
