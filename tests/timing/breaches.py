"""What a debounce breaks of its promises: empty for a sound one, and not empty for one that counts a sample wrong.

Times are whole microseconds.  The promises follow from counting samples: a state that lasts w holds at least floor(w/T)
and at most floor(w/T) + 1 samples of period T, wherever they fall.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from retrofit.timing.trace import Sampler, events

PERIOD_US = 1000
PHASES_US = (0, 1, 250, 500, 750, 998, 999)
START_US = 5 * PERIOD_US
Make = Callable[[], Sampler]


def reported(make: Make, edges: list[int], phase_us: int) -> list[tuple[float, bool]]:
    """Return the events of a fresh debounce on a trace, sampled from the phase until long after the last edge."""
    end_us = edges[-1] + 600 * PERIOD_US
    return events(make(), edges, range(phase_us, end_us, PERIOD_US))


def states(make: Make, edges: list[int], phase_us: int) -> list[bool]:
    """Return the new states alone."""
    return [state for _, state in reported(make, edges, phase_us)]


def counted_breaches(make: Make, press: int, release: int) -> list[str]:
    """Return what a counted debounce breaks: closures and breaks just below and just at the promised lengths."""
    return [breach for phase_us in PHASES_US for breach in _counted_at(make, press, release, phase_us)]


def _counted_at(make: Make, press: int, release: int, phase_us: int) -> Iterator[str]:
    short_us, long_us = (press - 1) * PERIOD_US - 1, press * PERIOD_US
    if short_us > 0 and states(make, [START_US, START_US + short_us], phase_us):
        yield f"closure of {short_us} µs heard at phase {phase_us}"
    if states(make, [START_US, START_US + long_us], phase_us) != [True, False]:
        yield f"closure of {long_us} µs not heard at phase {phase_us}"
    short_us, long_us = (release - 1) * PERIOD_US - 1, release * PERIOD_US
    held_us = START_US + 100 * PERIOD_US
    if short_us > 0 and states(make, [START_US, held_us, held_us + short_us], phase_us) != [True]:
        yield f"break of {short_us} µs heard at phase {phase_us}"
    if states(make, [START_US, held_us, held_us + long_us], phase_us) != [True, False, True]:
        yield f"break of {long_us} µs not heard at phase {phase_us}"


def first_edge_breaches(make: Make, hold: int) -> list[str]:
    """Return what a first-edge debounce breaks: events too close, strokes lost, or strokes late."""
    return [breach for phase_us in PHASES_US for breach in _first_edge_at(make, hold, phase_us)]


def _first_edge_at(make: Make, hold: int, phase_us: int) -> Iterator[str]:
    tap = reported(make, [START_US, START_US + PERIOD_US], phase_us)
    if any(later - sooner < hold * PERIOD_US for (sooner, _), (later, _) in pairwise(tap)):
        yield f"two events closer than the hold-off at phase {phase_us}"
    edges = [START_US + i * hold * PERIOD_US for i in range(20)]
    heard = reported(make, edges, phase_us)
    if len(heard) != len(edges):
        yield f"{len(edges)} changes, {len(heard)} heard at phase {phase_us}"
    if any(time - edge >= PERIOD_US for edge, (time, _) in zip(edges, heard, strict=False)):
        yield f"a change heard late at phase {phase_us}"
