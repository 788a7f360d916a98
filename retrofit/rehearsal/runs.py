"""From edges to what a debounce reports, for many contacts at once and without stepping through samples.

Contacts rest open and change at each of their edges.  Samples are numbered; sample j of contact c stands at c * S + j,
so that one sorted row of numbers serves all contacts.  Between two edges every sample is alike: a run.  A counted
debounce answers a run by its length alone; a first-edge one is followed from event to event and an integrator from run
to run, all contacts in step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from retrofit.rehearsal.bounce import Times
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce

Levels = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Runs:
    """Runs of equal samples: first sample, length and level; each contact's first run is a closed one."""

    start: Times
    length: Times
    closed: Levels
    contact: Times


@dataclass(frozen=True, slots=True)
class Reported:
    """What debounces report, ordered by contact and time: contact, number of the sample, new state."""

    contact: Times
    sample: Times
    on: Levels


def sampled_runs(contact: Times, edge_ns: Times, sample_ns: Times) -> Runs:
    """Return the runs of contacts; edges come ordered by contact and time, an even number for each contact.

    A sample at the very time of an edge sees the level after it.
    """
    samples = len(sample_ns)
    first = np.searchsorted(sample_ns, edge_ns, side="left") + contact * samples
    is_first = _changes(contact)
    index = np.arange(len(contact))
    closed = (index - index[is_first][np.cumsum(is_first) - 1]) % 2 == 0
    is_last = np.append(is_first[1:], True)
    end = np.where(is_last, (contact + 1) * samples, np.append(first[1:], 0))
    met = end > first
    return _merged(first[met], closed[met], contact[met], samples)


def _changes(contact: Times) -> Levels:
    """Return where a contact's elements begin."""
    return np.concatenate((np.ones(min(1, len(contact)), dtype=np.bool_), contact[1:] != contact[:-1]))


def _merged(first: Times, closed: Levels, contact: Times, samples: int) -> Runs:
    """Return runs without neighbours of one level, and without what only goes on resting open."""
    keep = _alternating(closed, contact)
    start, of, level = first[keep], contact[keep], closed[keep]
    is_last = np.append(_changes(of)[1:], True)
    stop = np.where(is_last, (of + 1) * samples, np.append(start[1:], 0))
    return Runs(start, stop - start, level, of)


def _alternating(closed: Levels, contact: Times) -> Levels:
    """Return which elements differ from the one before, where before the first of a contact it was open."""
    before = np.concatenate((np.zeros(min(1, len(closed)), dtype=np.bool_), closed[:-1]))
    before[_changes(contact)] = False
    differs: Levels = np.not_equal(closed, before)
    return differs


def reported(debounce: Debounce, runs: Runs, samples: int) -> Reported:
    """Return every event of a debounce over runs of `samples` samples a contact."""
    if debounce.family is DebounceFamily.FIRST_EDGE:
        return _first_edge(max(1, debounce.hold), runs, samples)
    if debounce.family is DebounceFamily.INTEGRATOR:
        return _integrator(debounce, runs, samples)
    return _counted(debounce, runs, samples)


def _counted(debounce: Debounce, runs: Runs, samples: int) -> Reported:
    """A run that is long enough decides; it is an event when the one that decided before it was of the other level."""
    wanted = np.where(runs.closed, debounce.press, debounce.release)
    long = runs.length >= wanted
    closed, contact = runs.closed[long], runs.contact[long]
    event = _alternating(closed, contact)
    at = (runs.start[long] + wanted[long] - 1)[event]
    return Reported(contact[event], at - contact[event] * samples, closed[event])


def _first_edge(hold: int, runs: Runs, samples: int) -> Reported:
    """Go from event to event: the next is at the first sample of the other level, `hold` after the last at soonest."""
    begins = np.flatnonzero(_changes(runs.contact))
    ends = np.append(begins[1:], len(runs.contact))[: len(begins)]
    contact, at, on = runs.contact[begins], runs.start[begins], np.zeros(len(begins), dtype=np.bool_)
    found: list[tuple[Times, Times, Levels]] = []
    while len(contact):
        on = ~on
        found.append((contact, at, on))
        again = at + hold
        run = np.minimum(np.searchsorted(runs.start, again, side="right") - 1, ends - 1)
        following = run + (runs.closed[run] == on)
        alive = (following < ends) & (again < (contact + 1) * samples)
        at = np.maximum(again, runs.start[np.minimum(following, len(runs.start) - 1)])
        contact, on, at, ends = contact[alive], on[alive], at[alive], ends[alive]
    return _in_order(found, samples)


def _integrator(debounce: Debounce, runs: Runs, samples: int) -> Reported:
    """Go from run to run: one of the reported level takes from the lead, one of the other adds to it or ends it."""
    run = np.flatnonzero(_changes(runs.contact))
    ends = np.append(run[1:], len(runs.contact))[: len(run)]
    on, lead = np.zeros(len(run), dtype=np.bool_), np.zeros(len(run), dtype=np.int64)
    found: list[tuple[Times, Times, Levels]] = []
    while len(run):
        length, wanted = runs.length[run], np.where(on, debounce.release, debounce.press)
        differs = runs.closed[run] != on
        event = differs & (lead + length >= wanted)
        at = runs.start[run] + wanted - lead - 1
        found.append((runs.contact[run][event], at[event], ~on[event]))
        lead = np.where(event, 0, np.where(differs, lead + length, np.maximum(0, lead - length)))
        on = on ^ event
        alive = run + 1 < ends
        run, ends, on, lead = run[alive] + 1, ends[alive], on[alive], lead[alive]
    return _in_order(found, samples)


def _in_order(found: list[tuple[Times, Times, Levels]], samples: int) -> Reported:
    if not found:
        nothing = np.empty(0, dtype=np.int64)
        return Reported(nothing, nothing, np.empty(0, dtype=np.bool_))
    contact, at, on = (np.concatenate(parts) for parts in zip(*found, strict=True))
    order = np.argsort(at, kind="stable")
    return Reported(contact[order], at[order] - contact[order] * samples, on[order])
