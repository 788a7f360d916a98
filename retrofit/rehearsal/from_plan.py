"""The groups of a plan as the simulation needs them, and those that cannot be simulated, with the reason."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from retrofit.plan.model import ConversionPlan, GroupPlan, PointPlan
from retrofit.rehearsal.bounce import Bounce, EvenBounce, modelled
from retrofit.rehearsal.playing import playing_of
from retrofit.rehearsal.recorded import EVERY
from retrofit.rehearsal.simulation import SimulatedGroup
from retrofit.survey.points import PointKind


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A group that is not simulated, and why."""

    group: str
    why: str


def simulated_groups(
    plan: ConversionPlan, recorded: Mapping[str, Bounce], assumed_bounce_us: float | None = None
) -> tuple[tuple[SimulatedGroup, ...], tuple[LeftOut, ...]]:
    """Return the groups to simulate and those left out.

    Recorded bounce goes before what the job says; `assumed_bounce_us` stands in only where neither is known.
    """
    found: list[SimulatedGroup] = []
    left_out: list[LeftOut] = []
    for group in plan.groups:
        bounce = recorded.get(group.id) or recorded.get(EVERY) or known_bounce(group, assumed_bounce_us)
        points = [point for point in plan.points if _is_read(point, group.id)]
        made = _simulated(group, points, bounce)
        if isinstance(made, LeftOut):
            left_out.append(made)
        else:
            found.append(made)
    return tuple(found), tuple(left_out)


def _is_read(point: PointPlan, group: str) -> bool:
    one = point.point
    return one.group == group and one.kind is not PointKind.SHOE and one.takes_part and one.same_line_as is None


def known_bounce(group: GroupPlan, assumed_us: float | None) -> Bounce | None:
    """Return the bounce of a group's contacts as measured, or as usual for its kind, or as assumed where given."""
    known = group.bounce
    if known is None:
        return None
    worst_us = known.measured_ms * 1000 if known.measured_ms is not None and known.sane else None
    kind_max_us = None if known.kind_max_ms is None else known.kind_max_ms * 1000
    found = modelled(worst_us, known.strokes, kind_max_us)
    return EvenBounce(assumed_us) if found is None and assumed_us is not None else found


def _simulated(group: GroupPlan, points: list[PointPlan], bounce: Bounce | None) -> SimulatedGroup | LeftOut:
    if group.debounce is None or group.path is None:
        return LeftOut(group.id, "it is read by the converter and has no contacts")
    if not points:
        return LeftOut(group.id, "no contact of it takes part")
    if group.gap_us:
        return LeftOut(group.id, "the gaps of its supply are not simulated")
    if bounce is None:
        return LeftOut(group.id, "its bounce is unknown: measure it, give a recording, or --assume-bounce-ms")
    path = group.path
    return SimulatedGroup(
        id=group.id,
        contacts=len(points),
        debounce=group.debounce,
        period_us=path.period_us,
        jitter_us=path.jitter_us,
        after_sample_us=path.after_sample_us - path.jitter_us + group.circuit_press_us,
        bounce=bounce,
        playing=playing_of(points[0].point.kind),
    )
