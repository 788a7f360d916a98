"""Readings against the points of their group."""

from __future__ import annotations

import re
from collections.abc import Iterator

from retrofit.survey.contacts import Group
from retrofit.survey.faults import Fault
from retrofit.survey.points import group_points
from retrofit.survey.problems import ProblemKind, did_you_mean, shown
from retrofit.survey.toml_lines import Path

_LOOKS_LIKE_A_POINT = re.compile(r"[a-z0-9-]+(\.[a-z0-9-]+)+")
"""Words on a tag look otherwise: they have capitals, spaces or no point in them."""


def unknown_lines(path: Path, group: Group) -> Iterator[Fault]:
    """Yield every reading of a line that is written as a point id but is no point of its group."""
    points = {point.id for point in group_points(group)}
    for position, reading in enumerate(group.wiring.readings):
        if reading.line not in points and _LOOKS_LIKE_A_POINT.fullmatch(reading.line):
            place = (*path, "wiring", "readings", position, "line")
            allowed = f"a point of {shown(group.id)}, or the words on the line's tag"
            remedy = did_you_mean(reading.line, points) or "name a point as group.point"
            yield Fault(ProblemKind.UNKNOWN_LINE, place, shown(reading.line), allowed, remedy)
