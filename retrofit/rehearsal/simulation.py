"""A console played in numbers: how late, how often twice, and how often not at all its strokes are heard.

The engine is pure: it takes groups, a length and a seed, and tells its caller how far it has come.  Same groups, same
length, same seed: same result.  Sampling instants are due every period and taken late by an even time up to the
jitter; wires are idle, so that what queues is not in these figures.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from retrofit.rehearsal.bounce import NS_PER_US, Bounce, Times
from retrofit.rehearsal.playing import Playing, Strokes, strokes
from retrofit.rehearsal.runs import Reported, reported, sampled_runs
from retrofit.timing.debounce import Debounce

PASSAGE_S = 10.0
"""Strokes are made passage by passage of about this length; every contact rests between two."""
PERCENTILES = (50.0, 95.0, 99.0, 99.9)
MILLION = 1_000_000
Micros = npt.NDArray[np.float32]
"""Four bytes a latency: a day of playing fits in memory, and a latency of seconds is still exact to a microsecond."""


@dataclass(frozen=True, slots=True)
class SimulatedGroup:
    """A group of contacts; `after_sample_us` runs from the sample that decides to the end of the last byte."""

    id: str
    contacts: int
    debounce: Debounce
    period_us: float
    jitter_us: float
    after_sample_us: float
    bounce: Bounce
    playing: Playing


@dataclass(frozen=True, slots=True)
class Spread:
    """A distribution in microseconds: percentiles by their number, and the greatest; empty without strokes."""

    percentiles: tuple[tuple[float, float], ...]
    greatest: float | None

    @staticmethod
    def of(found: Micros) -> Spread:
        """Return the spread of what was found."""
        if not len(found):
            return Spread((), None)
        values = np.percentile(found, PERCENTILES)
        return Spread(tuple(zip(PERCENTILES, map(float, values), strict=True)), float(found.max()))


@dataclass(frozen=True, slots=True)
class Rate:
    """So many cases among so many strokes."""

    cases: int
    strokes: int

    @property
    def per_million(self) -> float:
        """Cases in a million strokes; 0 without strokes."""
        return MILLION * self.cases / self.strokes if self.strokes else 0.0

    @property
    def per_million_at_most(self) -> float:
        """Upper end of the Wilson score interval at 95 % (E. B. Wilson, J. Am. Stat. Assoc. 22, 209, 1927)."""
        if not self.strokes:
            return float(MILLION)
        n, z = self.strokes, 1.959963984540054
        share = self.cases / n
        root = math.sqrt(share * (1 - share) / n + z * z / (4 * n * n))
        return MILLION * min(1.0, (share + z * z / (2 * n) + z * root) / (1 + z * z / n))


@dataclass(frozen=True, slots=True)
class GroupResult:
    """What became of a group's strokes.

    `touched` and `settled` are the times from the first touch and from the last bounce of a press to the end of its
    message (the second may be negative: heard while it still bounced).  A stroke is lost that sends nothing, and
    double when it sends on more than once.
    """

    id: str
    strokes: int
    lost: Rate
    double: Rate
    touched: Spread
    settled: Spread


@dataclass(frozen=True, slots=True)
class Result:
    """The results of every group, how many seconds were played, and whether the end was reached."""

    groups: tuple[GroupResult, ...]
    seconds: float
    complete: bool


@dataclass(frozen=True, slots=True)
class Passage:
    """A group's outcome of one passage: `ons` of every stroke, and the latencies of those heard."""

    ons: npt.NDArray[np.int16]
    touched_us: Micros
    settled_us: Micros


def simulate(
    groups: Sequence[SimulatedGroup], seconds: float, seed: int, keep_going: Callable[[float], bool] = lambda _: True
) -> Result:
    """Return what becomes of `seconds` of playing; `keep_going` is told the share done and may end it by False."""
    passages = max(1, math.ceil(seconds / PASSAGE_S))
    length_s = seconds / passages
    heard: list[list[Passage]] = [[] for _ in groups]
    done = 0
    while done < passages and keep_going(done / passages):
        for number, group in enumerate(groups):
            random = np.random.default_rng((seed, done, number))
            heard[number].append(passage(group, length_s, random))
        done += 1
    results = tuple(_result(group, found) for group, found in zip(groups, heard, strict=True))
    return Result(results, done * length_s, done == passages)


def passage(group: SimulatedGroup, length_s: float, random: np.random.Generator) -> Passage:
    """Return what becomes of one passage of a group."""
    per_contact = max(1, round(length_s * 1000 / group.playing.stroke_ms))
    played = strokes(group.contacts, per_contact, group.playing, group.bounce, random)
    sample_ns = _sample_times(group, played.end_ns, random)
    runs = sampled_runs(played.edge_contact, played.edge_ns, sample_ns)
    return _outcome(group, played, reported(group.debounce, runs, len(sample_ns)), sample_ns)


def _sample_times(group: SimulatedGroup, end_ns: int, random: np.random.Generator) -> Times:
    """Return sampling instants from a random phase until every debounce has run out."""
    settle = group.debounce.hold + group.debounce.press + group.debounce.release + 1
    period_ns = group.period_us * NS_PER_US
    count = math.ceil(end_ns / period_ns) + settle
    due = random.random() * period_ns + np.arange(count) * period_ns
    late = random.random(count) * group.jitter_us * NS_PER_US
    return np.rint(due + late).astype(np.int64)


def _outcome(group: SimulatedGroup, played: Strokes, found: Reported, sample_ns: Times) -> Passage:
    """Give every on to the stroke in which it falls: the last of its contact that had begun."""
    on_contact, on_ns = found.contact[found.on], sample_ns[found.sample[found.on]]
    span = int(max(played.end_ns, on_ns.max(initial=0))) + 1
    begun = played.contact * span + played.touched_ns
    stroke = np.searchsorted(begun, on_contact * span + on_ns, side="right") - 1
    ons = np.bincount(stroke, minlength=len(begun))
    heard, first = np.unique(stroke, return_index=True)
    return Passage(
        ons=ons.astype(np.int16),
        touched_us=_since(played.touched_ns[heard], on_ns[first], group.after_sample_us),
        settled_us=_since(played.settled_ns[heard], on_ns[first], group.after_sample_us),
    )


def _since(begun_ns: Times, on_ns: Times, after_us: float) -> Micros:
    return ((on_ns - begun_ns) / NS_PER_US + after_us).astype(np.float32)


def _result(group: SimulatedGroup, found: Sequence[Passage]) -> GroupResult:
    none = np.empty(0, dtype=np.float32)
    ons = np.concatenate([one.ons for one in found]) if found else np.empty(0, dtype=np.int16)
    count = len(ons)
    return GroupResult(
        id=group.id,
        strokes=count,
        lost=Rate(int((ons == 0).sum()), count),
        double=Rate(int((ons > 1).sum()), count),
        touched=Spread.of(np.concatenate([none, *(one.touched_us for one in found)])),
        settled=Spread.of(np.concatenate([none, *(one.settled_us for one in found)])),
    )
