"""Where a shoe reads at an end of its travel, from the lowest and highest counts while it stood there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from retrofit.firmware.link.board import LiveBoard
from retrofit.firmware.link.words import Count, Kind

STEADY_SHARE = 0.02
"""Part of full scale by which a standing shoe may flicker: half of the dead zone at each end."""
RAIL_SHARE = 0.005
"""Part of full scale beside either rail where a dead or shorted wire reads; our own choice, no source."""
SPAN_SHARE = 0.125
"""Least part of full scale between two ends: 128 steps of a converter of 10 bits, one for each value of 7 bits."""
_DIGITS = 4


@dataclass(frozen=True, slots=True)
class ShoeEnd:
    """One end of one shoe: the middle of what was read there, as part of full scale, and what that is worth.

    `steady` says whether it stood still, `at_rail` whether a wire that is dead or shorted would read so.
    """

    point: str
    end: str
    lowest: int
    highest: int
    reading: float
    steady: bool
    at_rail: bool


def shoe_ends(
    board: LiveBoard, names: Sequence[str], end: str, full_scale: int, look: Callable[[], None]
) -> tuple[ShoeEnd, ...]:
    """Return that end of every shoe that has a converter; `look` waits while the board takes its readings."""
    board.order(Kind.SHOES_ANEW)
    look()
    seen = (shoe for shoe in board.shoes() if shoe.index < len(names))
    return tuple(
        shoe_end(names[shoe.index], end, shoe.lowest, shoe.highest, full_scale)
        for shoe in seen
        if shoe.lowest is not None and shoe.highest is not None
    )


def shoe_end(point: str, end: str, lowest: int, highest: int, full_scale: int) -> ShoeEnd:
    """Return an end from its lowest and highest counts."""
    reading = round((lowest + highest) / 2 / full_scale, _DIGITS)
    steady = highest - lowest <= STEADY_SHARE * full_scale
    at_rail = lowest <= RAIL_SHARE * full_scale or highest >= (1 - RAIL_SHARE) * full_scale
    return ShoeEnd(point, end, lowest, highest, reading, steady, at_rail)


def faults_counted(board: LiveBoard) -> int:
    """Return how often the board found a shoe outside its ends since it started; 0 where it does not count that."""
    return board.counters().get(Count.SHOE_FAULTS, 0)
