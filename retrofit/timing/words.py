"""Times as people read them, rounded to the safe side."""

from __future__ import annotations

import math

_STEPS_PER_US = 1000
"""Times are compared on a grid of a nanosecond, so that 0.1 ms x 3 is not a hair more than 0.3 ms."""


def _on_grid(time_us: float) -> float:
    return round(time_us * _STEPS_PER_US) / _STEPS_PER_US


def floor_ms(time_us: float) -> str:
    """Return a time as text in milliseconds, never longer than it is; for what is certain below a limit."""
    return f"{math.floor(_on_grid(time_us)) / 1000:g} ms"


def ceil_ms(time_us: float) -> str:
    """Return a time as text in milliseconds, never shorter than it is; for what is certain from a limit upward."""
    return f"{math.ceil(_on_grid(time_us)) / 1000:g} ms"


def samples_for(time_us: float, period_us: float) -> int:
    """Return how many sampling periods are needed to span a time."""
    return math.ceil(_on_grid(time_us / period_us))
