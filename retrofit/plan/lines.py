"""The lines of a job: each wire that is joined to something, with every point that is read from it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from retrofit.survey.points import Point, PointKind


@dataclass(frozen=True, slots=True)
class WiredLine:
    """The point that is wired, and those that share its line."""

    point: Point
    sharing: tuple[Point, ...]

    @property
    def divisions(self) -> frozenset[str]:
        """Divisions that do not play MIDI without this line."""
        return frozenset(point.division for point in (self.point, *self.sharing) if point.takes_part)


def wired_lines(points: Sequence[Point]) -> Iterator[WiredLine]:
    """Yield the lines in the order of the points.

    A line whose points are all absent or left out is not wired; nor is a shoe or roller that is worked out from its
    stages.
    """
    worked_out = {point.stage_of for point in points}
    sharing: dict[str, list[Point]] = {}
    for point in points:
        if point.same_line_as is not None:
            sharing.setdefault(point.same_line_as, []).append(point)
    for point in points:
        line = WiredLine(point, tuple(sharing.get(point.id, ())))
        own = point.same_line_as is None and not (point.kind is PointKind.SHOE and point.id in worked_out)
        if own and line.divisions:
            yield line
