"""Recorded bounce as text: one stroke a line, `group,closing,0.4,0.9` with the times of its further edges in ms.

The group is an id, or `*` for every group that has no lines of its own; the way is `closing` or `opening`.  Lines that
are empty or begin with `#` are passed over.  A line without times is a stroke that did not bounce.
"""

from __future__ import annotations

import math
from collections.abc import Collection

from retrofit.rehearsal.bounce import RecordedBounce

EVERY = "*"
WAYS = ("closing", "opening")
LONGEST_MS = 1000.0
_FEWEST_CELLS = 2


class RecordingError(ValueError):
    """What is wrong with recorded bounce: every problem of the text, one line each."""

    def __init__(self, problems: list[str]) -> None:
        super().__init__("\n".join(problems))
        self.problems = tuple(problems)


def parse_recorded(text: str, name: str, groups: Collection[str]) -> dict[str, RecordedBounce]:
    """Return the recorded bounce by group, `*` among them.  Raises `RecordingError` with every problem and its line."""
    found: dict[str, dict[str, list[tuple[float, ...]]]] = {}
    problems = []
    for number, line in enumerate(text.splitlines(), 1):
        cells = [cell.strip() for cell in line.split(",")]
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        try:
            group, way, edges = _stroke(cells, groups)
        except ValueError as error:
            problems.append(f"{name}:{number} {error}")
            continue
        found.setdefault(group, {way: [] for way in WAYS})[way].append(edges)
    if problems or not found:
        raise RecordingError(problems or [f"{name}: no stroke found, allowed are lines such as *,closing,0.4,0.9"])
    return {group: RecordedBounce(*(tuple(ways[way]) for way in WAYS)) for group, ways in found.items()}


def _stroke(cells: list[str], groups: Collection[str]) -> tuple[str, str, tuple[float, ...]]:
    if len(cells) < _FEWEST_CELLS or cells[1] not in WAYS:
        raise ValueError(
            f"{','.join(cells)!r} found, allowed is a group or *, then closing or opening, then times in ms"
        )
    group, way = cells[:2]
    if group != EVERY and group not in groups:
        raise ValueError(f"the group {group!r} found, allowed are {', '.join(sorted(groups))} and *")
    edges = tuple(1000 * _milliseconds(cell) for cell in cells[2:])
    RecordedBounce(closing_us=(edges,))
    return group, way, edges


def _milliseconds(cell: str) -> float:
    try:
        time_ms = float(cell)
    except ValueError:
        time_ms = math.nan
    if not 0 <= time_ms <= LONGEST_MS:
        raise ValueError(f"{cell!r} found, allowed is a time of 0 to {LONGEST_MS:g} ms")
    return time_ms
