"""Our own supply: what it should show at first power, what it must give, its branches, and its rail while dead."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from retrofit.catalogue.parts import Board, Register
from retrofit.catalogue.wire import awg_area_mm2
from retrofit.circuits.branch import Branch, choose_branch, fuse_for, judge_branch
from retrofit.circuits.own_rail import FittedBoard, OwnRail, stages, total_amps
from retrofit.circuits.pullup import PULL_UP_OHMS, PULL_UP_TOLERANCE
from retrofit.circuits.result import Span
from retrofit.circuits.sense.dead_rail import Bleeder, choose_bleeder, judge_dead_rail
from retrofit.circuits.sense.design import Judged, SenseDesign
from retrofit.plan.sensing.model import GroupBranch, GroupSensing, PowerPlan
from retrofit.scan.layout import ScanLayout, Source
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job
from retrofit.survey.wiring import Wiring

TYPICAL_FACTOR = 2.0
"""By which a capacitance that is printed as a typical value alone is taken greater; common practice, no source."""
PULL_UP = Span.around(PULL_UP_OHMS, PULL_UP_TOLERANCE)


def plan_power(
    job: Job, layout: ScanLayout, board: Board, register: Register, sensing: Sequence[GroupSensing]
) -> PowerPlan:
    """Return the plan of our own supply for a layout and the circuits that were chosen."""
    supply = Span(board.figures["supply"].least, board.figures["supply"].greatest)
    boards = tuple(_boards(layout, board, register, sensing))
    fed_amps = sum(map(into_dead_rail_amps, sensing))
    bleeder = choose_bleeder(fed_amps, supply)
    rail = OwnRail(supply, boards, None if bleeder is None else _span(bleeder))
    return PowerPlan(
        stages=stages(rail),
        greatest_ma=1e3 * total_amps(rail).greatest,
        branches=tuple(_branches(job.groups, boards, supply)),
        dead_rail=_dead_rail(fed_amps),
        bleeder=bleeder,
    )


def into_dead_rail_amps(sensed: GroupSensing) -> float:
    """Return what the held lines of a group feed into our dead rail, from above; isolated circuits feed nothing."""
    chosen = sensed.chosen
    off_ua = None if chosen is None or sensed.line.ours or is_isolated(chosen) else chosen.felt.off_ua
    if off_ua is None:
        return 0.0
    return max(0.0, off_ua) * 1e-6 * sensed.line.lines_at_once


def is_isolated(design: SenseDesign) -> bool:
    """Return whether a circuit keeps our ground and rail apart from the organ's line."""
    return any(part.role == "isolator" for part in design.parts) or design.felt.shorted_rail_ua == 0.0


def _dead_rail(fed_amps: float) -> Judged | None:
    return judge_dead_rail(fed_amps, None) if fed_amps else None


def _span(bleeder: Bleeder) -> Span:
    return Span.around(bleeder.part.value, bleeder.part.tolerance)


def _boards(
    layout: ScanLayout, board: Board, register: Register, sensing: Sequence[GroupSensing]
) -> Iterator[FittedBoard]:
    """Yield the controller, then the registers of every group on the chain in the order of the chain."""
    own = board.figures["own_current"]
    yield FittedBoard("controller", Span(own.least, own.greatest))
    most = register_amps_most(board, register, layout.spi_hz or 0)
    pulled_up = {sensed.group for sensed in sensing if _has_pull_ups(sensed)}
    lanes = Counter(lane.group for lane in layout.lanes if lane.source is Source.CHAIN)
    contacts = Counter(
        lane.group for lane in layout.lanes for point in lane.points if lane.source is Source.CHAIN and point
    )
    for group, registers in lanes.items():
        pull_ups = contacts[group] if group in pulled_up else 0
        yield FittedBoard(group, Span(0.0, registers * most), pull_ups, PULL_UP)


def register_amps_most(board: Board, register: Register, spi_hz: float) -> float:
    """Return the greatest current of a register: at rest, and charging its own capacitance without a pause (C·V·f)."""
    volts, farads = board.figures["supply"].greatest, TYPICAL_FACTOR * register.figures["power_capacitance"].usual
    return register.figures["quiet_current"].greatest + farads * volts * spi_hz


def _has_pull_ups(sensed: GroupSensing) -> bool:
    chosen = sensed.chosen
    return chosen is not None and (sensed.line.ours or is_isolated(chosen))


def _branches(groups: Sequence[GroupBase], boards: Sequence[FittedBoard], supply: Span) -> Iterator[GroupBranch]:
    wiring = {group.id: group.wiring for group in groups}
    for fitted in boards:
        if fitted.name in wiring:
            closed = fitted.pull_ups * supply.greatest / fitted.pull_up_ohms.least
            amps = fitted.own_amps.greatest + closed
            yield GroupBranch(fitted.name, 1e3 * amps, _branch(amps, wiring[fitted.name], supply.least))


def _branch(amps: float, wiring: Wiring, logic_volts: float) -> Branch | None:
    """Return the branch with the wire that was found, or the thinnest that serves."""
    length_m, area = wiring.cable_length.value, wire_area_mm2(wiring)
    if area is None:
        return choose_branch(amps, length_m, logic_volts)
    fuse = fuse_for(amps)
    return None if fuse is None else judge_branch(amps, length_m, area, logic_volts, fuse)


def wire_area_mm2(wiring: Wiring) -> float | None:
    """Return the copper area of a group's wire as found, by its area or its American gauge; None when neither is."""
    area: float | None = wiring.wire_area.value
    return awg_area_mm2(wiring.wire_awg) if area is None and wiring.wire_awg is not None else area
