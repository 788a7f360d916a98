"""Commons that join more contacts than a matrix row can."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.survey.contacts import GroupBase
from retrofit.survey.wiring import Common


def long_commons(group: GroupBase, contacts: int) -> Iterator[tuple[Common, int]]:
    """Yield each common of a group of so many contacts that a matrix would have to split, with its last contact."""
    for common in group.wiring.commons:
        last = common.last or contacts
        if last - common.first + 1 > group.wanted.matrix_columns:
            yield common, last
