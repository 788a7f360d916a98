"""Points read through multiplexers: how many are needed and how long one round takes."""

from __future__ import annotations

from math import ceil

from retrofit.circuits.settle import wait_us


def devices(points: int, ways: int) -> int:
    """Return how many multiplexers a number of points needs: n/k rounded up."""
    return ceil(points / ways)


def addresses(points: int, ways: int) -> int:
    """Return how many addresses these multiplexers have, used or not."""
    return devices(points, ways) * ways


def round_us(ways: int, to_threshold_us: float, read_us: float) -> float:
    """Return the time of one round over every address, all multiplexers side by side: k·(settle + read)."""
    return ways * (wait_us(to_threshold_us) + read_us)
