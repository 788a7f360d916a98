"""Stretches of the chain: runs that the firmware reads as one.

Groups that are always due together are of one pace.  Neighbouring runs of the chain whose groups are of one pace, with
no register between them, are passed in one go, whatever their debounce.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass

from retrofit.scan.layout import Run, ScanLayout, Source

PaceOf = Callable[[str], Hashable]
"""Maps a group to what stands for its pace."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Runs of the chain that are read as one, in reading order."""

    runs: tuple[Run, ...]

    @property
    def lane_count(self) -> int:
        """Registers of all runs together."""
        return sum(run.lane_count for run in self.runs)

    @property
    def group(self) -> str:
        """One of the groups, all of which are due together."""
        return self.runs[0].group


def chain_stretches(layout: ScanLayout, pace_of: PaceOf) -> tuple[Stretch, ...]:
    """Return the stretches of a layout's chain in reading order."""
    found: list[list[Run]] = []
    for run in layout.runs:
        if run.source is not Source.CHAIN:
            continue
        before = found[-1][-1] if found else None
        if before and pace_of(before.group) == pace_of(run.group) and _are_neighbours(layout, before, run):
            found[-1].append(run)
        else:
            found.append([run])
    return tuple(Stretch(tuple(runs)) for runs in found)


def _are_neighbours(layout: ScanLayout, before: Run, run: Run) -> bool:
    """Return whether no register lies between two runs; a layout without lanes, only counted, has none there."""
    if not layout.lanes:
        return True
    return layout.lanes[run.first_lane].place == layout.lanes[before.first_lane].place + before.lane_count
