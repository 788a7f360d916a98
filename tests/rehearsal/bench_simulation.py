"""Prints how much faster than real time 300 points are simulated: `python -m tests.rehearsal.bench_simulation`."""

from __future__ import annotations

import time

from retrofit.rehearsal.bounce import EvenBounce
from retrofit.rehearsal.playing import CONTROLS, KEYS
from retrofit.rehearsal.simulation import SimulatedGroup, simulate
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce

SECONDS = 600.0


def groups() -> tuple[SimulatedGroup, ...]:
    """Return 300 points: three manuals, a pedalboard and stops, in both ways of debouncing."""
    first_edge = Debounce(DebounceFamily.FIRST_EDGE, hold=25)
    dirty = Debounce(DebounceFamily.ASYMMETRIC, press=8, release=40)
    slow = Debounce(DebounceFamily.CONSECUTIVE, press=8, release=8)
    bounce = EvenBounce(5000)
    return (
        SimulatedGroup("upper", 61, first_edge, 250, 25, 1100, bounce, KEYS),
        SimulatedGroup("middle", 61, first_edge, 250, 25, 1100, bounce, KEYS),
        SimulatedGroup("lower", 61, dirty, 250, 25, 1100, bounce, KEYS),
        SimulatedGroup("pedal", 32, dirty, 250, 25, 1100, bounce, KEYS),
        SimulatedGroup("stops", 85, slow, 2000, 25, 1100, bounce, CONTROLS),
    )


def main() -> None:
    """Print seconds played, seconds taken, strokes, and the ratio."""
    began = time.perf_counter()
    result = simulate(groups(), SECONDS, seed=1)
    taken = time.perf_counter() - began
    strokes = sum(group.strokes for group in result.groups)
    print(  # noqa: T201  # what a bench prints is its result
        f"300 points, {SECONDS:g} s played with {strokes} strokes in {taken:.2f} s: {SECONDS / taken:.0f} x real time"
    )


if __name__ == "__main__":
    main()
