"""The pairs of keys that test the diodes of a group on a matrix whose rows are driven."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.plan.matrix_chords import closes, group_crossings, point_name
from retrofit.plan.model import ConversionPlan
from retrofit.scan.addresses import MatrixAddress
from retrofit.scan.layout import Source
from retrofit.scan.matrix_faults.crossings import addressed_matrix
from retrofit.scan.matrix_faults.driven_rows import PairPlan, column_pairs
from retrofit.survey.wishes import MatrixDrive


@dataclass(frozen=True, slots=True)
class GroupPairs:
    """The pair tests of one group; keys are numbered as its chords would be.

    `names` are the points by number, `crossings` every address of the group, `not_played` points whose contact cannot
    be closed.
    """

    group: str
    names: dict[int, str]
    crossings: dict[int, MatrixAddress]
    tests: PairPlan
    not_played: tuple[str, ...]


def rows_are_driven(plan: ConversionPlan, group_id: str) -> bool:
    """Return whether the rows of a group's matrix are driven."""
    driven = {str(one.number) for one in plan.layout.matrices if one.drive is MatrixDrive.PUSH_PULL}
    lanes = (lane for lane in plan.layout.lanes if lane.group == group_id and lane.source is Source.MATRIX)
    return any(lane.where in driven for lane in lanes)


def group_pairs(plan: ConversionPlan, group_id: str, *, muted: frozenset[str] = frozenset()) -> GroupPairs:
    """Return the pair tests of a group.  Raises `NoChordsError` where it is not on a matrix.

    `muted` are points that stay closed and that the board therefore does not send: they are not held.
    """
    group = next(group for group in plan.job.groups if group.id == group_id)
    crossings = group_crossings(plan, group)
    played = {
        key: address for key, (point, address) in crossings.items() if closes(point) and point.point.id not in muted
    }
    matrix = addressed_matrix(played, played.values()).matrix
    return GroupPairs(
        group=group_id,
        names={key: point_name(point.point) for key, (point, _) in crossings.items()},
        crossings={key: address for key, (_, address) in crossings.items()},
        tests=column_pairs(matrix),
        not_played=tuple(point.point.id for key, (point, _) in crossings.items() if key not in played),
    )
