"""How contacts bounce in the simulation: as recorded at the instrument, or by a distribution that is written down here.

A burst is the times of an even number of further edges after the first touch (or the first parting): after them the
contact is as the first edge left it.  Times are whole nanoseconds.

The modelled lengths have no published source.  What was measured as the worst of n strokes is taken as the mean
greatest of n exponential lengths, whose mean is then worst / (1 + 1/2 + ... + 1/n); that gives a tail beyond what was
measured.  Where only the longest of the kind of contact is known, lengths are even from nothing to it.  A burst has
one break and, on average, one more; its edges fall evenly, and the last one ends it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

Times = npt.NDArray[np.int64]
NS_PER_US = 1000
MORE_BREAKS_MEAN = 1.0


@dataclass(frozen=True, slots=True)
class Bursts:
    """Further edges of many strokes, flat: `stroke[i]` is the stroke to which the edge `after_ns[i]` later belongs."""

    stroke: Times
    after_ns: Times


class Bounce(Protocol):
    """What gives every stroke its burst."""

    def bursts(self, strokes: int, closing: bool, random: np.random.Generator) -> Bursts:
        """Return the bursts of so many strokes as they close, or as they open."""


@dataclass(frozen=True, slots=True)
class EvenBounce:
    """Lengths even from nothing to the longest of the kind."""

    longest_us: float

    def bursts(self, strokes: int, closing: bool, random: np.random.Generator) -> Bursts:  # noqa: ARG002  # both directions alike
        """Return the bursts of so many strokes."""
        return _spread_out(random.uniform(0, self.longest_us * NS_PER_US, strokes), random)


@dataclass(frozen=True, slots=True)
class TailedBounce:
    """Exponential lengths whose worst of `strokes_measured` is on average the one that was measured."""

    worst_us: float
    strokes_measured: int

    @property
    def mean_us(self) -> float:
        """Mean length of a burst."""
        return self.worst_us / sum(1 / k for k in range(1, self.strokes_measured + 1))

    def bursts(self, strokes: int, closing: bool, random: np.random.Generator) -> Bursts:  # noqa: ARG002  # both directions alike
        """Return the bursts of so many strokes."""
        return _spread_out(random.exponential(self.mean_us * NS_PER_US, strokes), random)


@dataclass(frozen=True, slots=True)
class RecordedBounce:
    """Bursts as they were recorded, each as likely as any other; times in microseconds after the first edge.

    A direction without a recording has no bounce.  Raises `ValueError` for a burst that leaves the contact changed.
    """

    closing_us: tuple[tuple[float, ...], ...] = ()
    opening_us: tuple[tuple[float, ...], ...] = ()

    def __post_init__(self) -> None:
        for burst in (*self.closing_us, *self.opening_us):
            if len(burst) % 2:
                raise ValueError(
                    f"{len(burst)} further edges found, allowed is an even number: the burst ends as it began"
                )
            if any(later < sooner for sooner, later in zip((0.0, *burst), burst, strict=False)):
                raise ValueError("edges out of order found, allowed are rising times from 0 on")

    def bursts(self, strokes: int, closing: bool, random: np.random.Generator) -> Bursts:
        """Return the bursts of so many strokes, drawn from the recorded ones."""
        recorded = self.closing_us if closing else self.opening_us
        if not recorded:
            return _NO_BURSTS
        drawn = random.integers(0, len(recorded), strokes)
        lengths = np.array([len(burst) for burst in recorded])
        begins = np.concatenate(([0], np.cumsum(lengths)[:-1]))
        flat = np.array([time for burst in recorded for time in burst], dtype=np.float64)
        stroke, place = _ragged(lengths[drawn])
        return Bursts(stroke, np.rint(flat[begins[drawn][stroke] + place] * NS_PER_US).astype(np.int64))


_NO_BURSTS = Bursts(np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64))


def _ragged(counts: Times) -> tuple[Times, Times]:
    """Return for each element of rows of these lengths its row and its place in the row."""
    row = np.repeat(np.arange(len(counts), dtype=np.int64), counts)
    first = np.cumsum(counts) - counts
    return row, np.arange(len(row), dtype=np.int64) - first[row]


def _spread_out(lengths_ns: npt.NDArray[np.float64], random: np.random.Generator) -> Bursts:
    edges = 2 * (1 + random.poisson(MORE_BREAKS_MEAN, len(lengths_ns)))
    stroke, place = _ragged(edges.astype(np.int64))
    share = random.random(len(stroke))
    share[place == 0] = 1.0
    return Bursts(stroke, np.rint(lengths_ns[stroke] * share).astype(np.int64))


def modelled(worst_us: float | None, strokes: int | None, kind_max_us: float | None) -> Bounce | None:
    """Return the model for what is known of a bounce; None when nothing is.

    A worst of an unknown number of strokes is taken as that of one.
    """
    if worst_us is not None:
        return TailedBounce(worst_us, max(1, strokes or 1))
    return None if kind_max_us is None else EvenBounce(kind_max_us)


def longest_recorded_us(bursts: Sequence[Sequence[float]]) -> float:
    """Return the length of the longest recorded burst."""
    return max((burst[-1] for burst in bursts if burst), default=0.0)
