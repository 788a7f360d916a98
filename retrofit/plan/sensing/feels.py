"""What the organ feels of us, line by line and supply by supply, in every state that our board may come into."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from retrofit.circuits.sense.design import Judged, SenseDesign
from retrofit.circuits.sense.line import Line
from retrofit.circuits.supplies import FUSE, SAG, judge_fuse, judge_sag
from retrofit.plan.sensing.choose import load_ua
from retrofit.plan.sensing.model import BoardState, GroupSensing, StateFelt, SupplyFelt
from retrofit.plan.sensing.supplies import OrganSupplies
from retrofit.survey.contacts import GroupBase


def felt_states(line: Line, chosen: SenseDesign | None, *, fed_by_usb: bool) -> tuple[StateFelt, ...]:
    """Return what one line and all lines of a group held at once feel, state by state.

    Pulling the USB lead takes the board's supply away where the lead feeds it, and changes nothing where it does not.
    """
    if chosen is None:
        return ()
    felt = chosen.felt
    lines = (
        (BoardState.ON, _worse(felt.on_ua, felt.idle_ua)),
        (BoardState.OFF, felt.off_ua),
        (BoardState.OPEN, felt.open_ua),
        (BoardState.SHORTED, felt.shorted_ua),
        (BoardState.SHORTED_TO_RAIL, felt.shorted_rail_ua),
        (BoardState.USB_PULLED, felt.off_ua if fed_by_usb else _worse(felt.on_ua, felt.idle_ua)),
    )
    return tuple(StateFelt(state, line_ua, _group_ma(line_ua, line.lines_at_once)) for state, line_ua in lines)


def _worse(one: float | None, other: float | None) -> float | None:
    """Return the current that is greater in magnitude; None while either is unknown."""
    return None if one is None or other is None else max(one, other, key=abs)


def _group_ma(line_ua: float | None, lines: int) -> float | None:
    return None if line_ua is None else line_ua * lines / 1e3


def felt_by_supplies(
    groups: Iterable[GroupBase], sensing: Sequence[GroupSensing], supplies: OrganSupplies
) -> tuple[SupplyFelt, ...]:
    """Return what each supply of the organ feels with every line that it feeds keyed and our board on."""
    sensed = {one.group: one for one in sensing if one.chosen is not None and not one.line.ours}
    fed: dict[str, list[GroupSensing]] = {}
    for group in groups:
        for supply in supplies.behind(group) if group.id in sensed else ():
            fed.setdefault(supply, []).append(sensed[group.id])
    return tuple(_supply_felt(supply, found, supplies) for supply, found in fed.items())


def _supply_felt(supply: str, found: Sequence[GroupSensing], supplies: OrganSupplies) -> SupplyFelt:
    """A group that is fed by several supplies is counted in full for each: from above."""
    loads = [load_ua(one.chosen) * one.line.lines_at_once / 1e3 for one in found if one.chosen is not None]
    total_ma = sum(loads)
    groups = tuple(one.group for one in found)
    organ = supplies.by_id.get(supply)
    if total_ma == float("inf") or organ is None:
        missing = "what every line feels" if organ is not None else "the volts of the supply with everything on"
        return SupplyFelt(
            supply,
            groups,
            None if total_ma == float("inf") else total_ma,
            Judged(SAG, None, missing),
            Judged(FUSE, None, missing),
        )
    amps = total_ma / 1e3
    return SupplyFelt(supply, groups, total_ma, judge_sag(organ, amps), judge_fuse(organ, amps))
