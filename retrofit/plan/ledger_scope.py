"""What the steps of a ledger are about: groups with their lines, the divisions they serve, what must be preserved."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from retrofit.plan.lines import WiredLine, wired_lines
from retrofit.plan.preserved import is_preserved
from retrofit.survey.contacts import Group, GroupBase
from retrofit.survey.job import Job
from retrofit.survey.operations import CONSOLE
from retrofit.survey.points import Point, list_points


@dataclass(frozen=True, slots=True)
class Scope:
    """A job's groups with their points and lines."""

    job: Job
    points: dict[str, tuple[Point, ...]]
    lines: dict[str, tuple[WiredLine, ...]]

    @property
    def groups(self) -> tuple[Group, ...]:
        """Groups that have a line, in the order of the job."""
        return tuple(group for group in self.job.groups if self.lines[group.id])

    def preserved(self, group: GroupBase) -> bool:
        """Return whether the originals of this group stay as they were."""
        return is_preserved(self.job, group)

    def any_preserved(self, divisions: Iterable[str]) -> bool:
        """Return whether anything that serves one of these divisions must stay as it was."""
        wanted = set(divisions)
        return any(self.preserved(group) for group in self.job.groups if wanted & self._served_by(group))

    def in_order(self, divisions: Iterable[str]) -> tuple[str, ...]:
        """Return divisions in the order of the job."""
        wanted = set(divisions)
        return tuple(division.id for division in self.job.divisions if division.id in wanted)

    def served(self, groups: Iterable[GroupBase]) -> tuple[str, ...]:
        """Return the divisions that the lines of these groups serve."""
        return self.in_order(
            division for group in groups for line in self.lines[group.id] for division in line.divisions
        )

    def by_division(self, group: GroupBase) -> dict[str, list[WiredLine]]:
        """Return the lines of a group by the division of the point that is wired."""
        parts: dict[str, list[WiredLine]] = {}
        for line in self.lines[group.id]:
            parts.setdefault(line.point.division, []).append(line)
        return parts

    def about(self, subject: str) -> tuple[tuple[str, ...], bool]:
        """Return the divisions of a group, point, division or the console, and whether it must stay as it was."""
        everything = tuple(division.id for division in self.job.divisions)
        if subject == CONSOLE:
            return everything, self.job.originals.preserved or self.any_preserved(everything)
        for group in self.job.groups:
            found = [p.division for p in self.points[group.id] if subject in (group.id, p.id)]
            if subject == group.id or found:
                return self.in_order(found or [group.division]), self.preserved(group)
        return (subject,), self.job.originals.preserved or self.any_preserved([subject])

    def _served_by(self, group: GroupBase) -> set[str]:
        return {group.division, *(point.division for point in self.points[group.id])}


def scope_of(job: Job) -> Scope:
    """Return the scope of a job's ledger."""
    points: dict[str, list[Point]] = {group.id: [] for group in job.groups}
    lines: dict[str, list[WiredLine]] = {group.id: [] for group in job.groups}
    every = list_points(job)
    for point in every:
        points[point.group].append(point)
    for line in wired_lines(every):
        lines[line.point.group].append(line)
    return Scope(
        job,
        {name: tuple(found) for name, found in points.items()},
        {name: tuple(found) for name, found in lines.items()},
    )
