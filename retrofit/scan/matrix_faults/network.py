"""What a matrix with any faulty diodes reads: every way from a column to the row being read, and its diode drops.

Rows are pulled low one at a time, the others are left adrift; columns are pulled up.  A healthy diode at a held key
leads from its column to its row at one drop, a reversed one the other way at one drop, a shorted one (or one bridged by
a wire, or left out and replaced by wire) both ways at none, an open one not at all.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from enum import StrEnum

from retrofit.scan.matrix_faults.crossings import Crossing


class DiodeFault(StrEnum):
    """What can be wrong with a diode."""

    SHORTED = "shorted"
    REVERSED = "reversed"
    OPEN = "open"


GHOST_DROPS = {DiodeFault.SHORTED: 2, DiodeFault.REVERSED: 3}
"""Diode drops on a ghost's way to the row that is read; an open diode makes no ghost."""
Faults = Mapping[Crossing, DiodeFault]


def read_drops(held: Iterable[Crossing], faults: Faults) -> dict[Crossing, int]:
    """Return every crossing that draws current when it is read, with the fewest diode drops on its way to the row."""
    closed = sorted(set(held))
    columns = sorted({crossing.column for crossing in closed})
    return {
        Crossing(row, column): drops
        for row in sorted({crossing.row for crossing in closed})
        for column, drops in _drops_to(row, closed, faults).items()
        if column in columns
    }


def reads_closed(held: Iterable[Crossing], faults: Faults, *, most_drops: int) -> frozenset[Crossing]:
    """Return the crossings that read closed where a way of up to `most_drops` diode drops is a low level."""
    return frozenset(crossing for crossing, drops in read_drops(held, faults).items() if drops <= most_drops)


def _drops_to(row: int, closed: list[Crossing], faults: Faults) -> dict[int, int]:
    """Return the fewest drops from each column that leads to a row; the steps are walked backwards from the row."""
    fewest: dict[tuple[str, int], int] = {("row", row): 0}
    waiting = deque([("row", row)])
    while waiting:
        here = waiting.popleft()
        for there, drops in _steps_into(here, closed, faults):
            total = fewest[here] + drops
            if total < fewest.get(there, total + 1):
                fewest[there] = total
                (waiting.append if drops else waiting.appendleft)(there)
    return {index: drops for (kind, index), drops in fewest.items() if kind == "column"}


def _steps_into(wire: tuple[str, int], closed: list[Crossing], faults: Faults) -> Iterator[tuple[tuple[str, int], int]]:
    """Yield each wire from which current reaches `wire` through one held key, with the drops on the way."""
    kind, index = wire
    for crossing in closed:
        fault = faults.get(crossing)
        if kind == "row" and crossing.row == index and fault in (None, DiodeFault.SHORTED):
            yield ("column", crossing.column), 0 if fault else 1
        if kind == "column" and crossing.column == index and fault in (DiodeFault.REVERSED, DiodeFault.SHORTED):
            yield ("row", crossing.row), 1 if fault is DiodeFault.REVERSED else 0
