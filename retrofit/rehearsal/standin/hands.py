"""What hands and feet do to a console, as moves in time: pressing, letting go, moving a shoe; and what nobody did."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class KeyMove:
    """A control is pressed (or put on), or let go (or put off)."""

    time_us: int
    point: str
    down: bool


@dataclass(frozen=True, slots=True)
class ShoeMove:
    """A shoe stands at a place, 0 for one end to 1 for the other."""

    time_us: int
    shoe: str
    place: float


@dataclass(frozen=True, slots=True)
class Spike:
    """A line is keyed for a moment by interference, and no hand is near."""

    time_us: int
    point: str
    length_us: int


Move = KeyMove | ShoeMove | Spike
