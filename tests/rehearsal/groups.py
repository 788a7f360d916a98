"""Simulated groups for the tests."""

from __future__ import annotations

from dataclasses import replace

from retrofit.rehearsal.bounce import RecordedBounce
from retrofit.rehearsal.playing import Playing
from retrofit.rehearsal.simulation import SimulatedGroup
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce

SLOW = Playing(shortest_down_ms=100, mean_down_ms=150, shortest_up_ms=100, mean_up_ms=150)
CLEAN = RecordedBounce()


def group(debounce: Debounce, **changes: object) -> SimulatedGroup:
    """Return forty contacts sampled every millisecond, played slowly, without bounce; `changes` replace fields."""
    plain = SimulatedGroup("keys", 40, debounce, 1000.0, 0.0, 0.0, CLEAN, SLOW)
    return replace(plain, **changes)  # type: ignore[arg-type]  # fields by name


def first_edge(hold: int) -> Debounce:
    """Return a first-edge debounce."""
    return Debounce(DebounceFamily.FIRST_EDGE, hold=hold)


def counted(press: int, release: int) -> Debounce:
    """Return an asymmetric debounce."""
    return Debounce(DebounceFamily.ASYMMETRIC, press=press, release=release)
