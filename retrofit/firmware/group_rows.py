"""The rows of the group table: debounce counts, sampling, urgency and a share of the ring of hold-offs."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

from retrofit.firmware.rows import Duty, Family, GroupRow, TableError
from retrofit.plan.model import ConversionPlan, GroupPlan, PointPlan
from retrofit.survey.points import PointKind
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce

_DUTIES = {
    PointKind.KEY: Duty.NOTES,
    PointKind.PISTON: Duty.PISTONS,
    PointKind.STOP: Duty.STOPS,
    PointKind.STAGE: Duty.STAGES,
}
_FAMILIES = {DebounceFamily.FIRST_EDGE: Family.FIRST_EDGE, DebounceFamily.INTEGRATOR: Family.INTEGRATOR}
"""The other two count samples in a row."""
_DUTY_WITHOUT_CONTACTS = Duty.STOPS
"""Of a group whose points are all left out: its lanes are read, and none of their bits is used."""


def group_rows(plan: ConversionPlan, shoe_ids: Sequence[str]) -> tuple[GroupRow, ...]:
    """Return a row for each group that has lanes, in the plan's order.

    `shoe_ids` are the point ids of the shoe table's rows.  Each first-edge group gets as many places in the ring of
    hold-offs as it has contacts, so that the ring can never be full.
    """
    with_lanes = {lane.group for lane in plan.layout.lanes}
    groups = [group for group in plan.groups if group.id in with_lanes]
    slots = [_hold_slots(group, plan) for group in groups]
    firsts = [end - count for end, count in zip(accumulate(slots), slots, strict=True)]
    return tuple(
        _group_row(group, plan, shoe_ids, first if count else 0, count)
        for group, first, count in zip(groups, firsts, slots, strict=True)
    )


def _group_row(
    group: GroupPlan, plan: ConversionPlan, shoe_ids: Sequence[str], hold_first: int, hold_slots: int
) -> GroupRow:
    debounce = _debounce(group)
    duty = _duty(group, plan)
    press, release = _counts(debounce)
    return GroupRow(
        subject=group.id,
        name=group.name,
        place=f"every {group.period_us} us",
        family=_family(debounce),
        press_count=press,
        release_count=release,
        hold_count=debounce.hold if _family(debounce) is Family.FIRST_EDGE else 0,
        divider_log2=group.divider_log2,
        phase=_phase(group),
        duty=duty,
        shoe=_shoe_index(group, plan, shoe_ids) if duty is Duty.STAGES else 0,
        hold_first=hold_first,
        hold_slots=hold_slots,
    )


def _debounce(group: GroupPlan) -> Debounce:
    if group.debounce is None:
        raise TableError(group.id, "no debounce is planned", "contacts need one", "say which debounce is wanted")
    return group.debounce


def _family(debounce: Debounce) -> Family:
    return _FAMILIES.get(debounce.family, Family.COUNTED)


def _counts(debounce: Debounce) -> tuple[int, int]:
    match debounce.family:
        case DebounceFamily.FIRST_EDGE:
            return 0, 0
        case DebounceFamily.CONSECUTIVE:
            return debounce.press, debounce.press
        case DebounceFamily.ASYMMETRIC | DebounceFamily.INTEGRATOR:
            return debounce.press, debounce.release


def _hold_slots(group: GroupPlan, plan: ConversionPlan) -> int:
    if _family(_debounce(group)) is not Family.FIRST_EDGE:
        return 0
    return sum(lane.used.bit_count() for lane in plan.layout.lanes if lane.group == group.id)


def _phase(group: GroupPlan) -> int:
    ticks = 1 << group.divider_log2
    if not 0 <= group.phase < ticks:
        raise TableError(
            group.id,
            f"it is sampled at phase {group.phase}",
            f"a group sampled every {ticks} ticks has the phases 0 to {ticks - 1}",
            "plan the job again",
        )
    return group.phase


def _duty(group: GroupPlan, plan: ConversionPlan) -> Duty:
    kinds = {point.point.kind for point in _contacts(group, plan)}
    if not kinds:
        return _DUTY_WITHOUT_CONTACTS
    if len(kinds) > 1:
        raise TableError(
            group.id,
            f"its contacts are {', '.join(sorted(kinds))}",
            "the contacts of a group are of one kind",
            "split the group",
        )
    return _DUTIES[kinds.pop()]


def _shoe_index(group: GroupPlan, plan: ConversionPlan, shoe_ids: Sequence[str]) -> int:
    shoes = {point.point.stage_of for point in _contacts(group, plan)}
    if len(shoes) != 1:
        raise TableError(
            group.id,
            f"it holds the stages of {len(shoes)} shoes",
            "the stages of one shoe are a group",
            "give each stepped shoe a group of its own",
        )
    shoe = shoes.pop()
    if shoe not in shoe_ids:
        raise TableError(group.id, f"the shoe {shoe} sends nothing", "a shoe with stages sends", "give it a controller")
    return shoe_ids.index(shoe)


def _contacts(group: GroupPlan, plan: ConversionPlan) -> list[PointPlan]:
    return [
        point
        for point in plan.points
        if point.point.group == group.id and point.point.kind in _DUTIES and point.point.takes_part
    ]
