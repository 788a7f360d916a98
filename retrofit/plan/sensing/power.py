"""Our own supply: what it should show at first power, what it must give, its branches, and its rail while dead."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board, Register
from retrofit.catalogue.wire import awg_area_mm2
from retrofit.circuits.branch import Branch, choose_branch, fuse_for, judge_branch
from retrofit.circuits.own_rail import FittedBoard, OwnRail, stages, total_amps
from retrofit.circuits.pullup import PULL_UP_OHMS, PULL_UP_TOLERANCE
from retrofit.circuits.result import Span
from retrofit.circuits.sense.dead_rail import Bleeder, choose_bleeder, judge_dead_rail
from retrofit.circuits.sense.design import Judged, SenseDesign
from retrofit.plan.front_ends import EXPANDER, MULTIPLEXERS
from retrofit.plan.scan_choice import REGISTER
from retrofit.plan.sensing.model import GroupBranch, GroupSensing, PowerPlan
from retrofit.scan.layout import Lane, ScanLayout, Source
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job
from retrofit.survey.wiring import Wiring

TYPICAL_FACTOR = 2.0
"""By which a capacitance that is printed as a typical value alone is taken greater; common practice, no source."""
PULL_UP = Span.around(PULL_UP_OHMS, PULL_UP_TOLERANCE)


def plan_power(
    job: Job, layout: ScanLayout, board: Board, catalogue: Catalogue, sensing: Sequence[GroupSensing]
) -> PowerPlan:
    """Return the plan of our own supply for a layout and the circuits that were chosen."""
    supply = Span(board.figures["supply"].least, board.figures["supply"].greatest)
    boards = tuple(_boards(layout, board, catalogue, sensing))
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
    layout: ScanLayout, board: Board, catalogue: Catalogue, sensing: Sequence[GroupSensing]
) -> Iterator[FittedBoard]:
    """Yield the controller, then the parts of every group that has some, in the order of reading.

    A chain and expanders have a pull-up for each contact, multiplexers one at each common.
    """
    own = board.figures["own_current"]
    yield FittedBoard("controller", Span(own.least, own.greatest))
    pulled_up = {sensed.group for sensed in sensing if _has_pull_ups(sensed)}
    lanes: dict[str, list[Lane]] = {}
    for lane in layout.lanes:
        lanes.setdefault(lane.group, []).append(lane)
    for group, own_lanes in lanes.items():
        amps = _parts_amps(own_lanes, layout, board, catalogue)
        if amps:
            pull_ups = _pull_ups(own_lanes) if group in pulled_up else 0
            yield FittedBoard(group, Span(0.0, amps), pull_ups, PULL_UP)


def _parts_amps(lanes: Sequence[Lane], layout: ScanLayout, board: Board, catalogue: Catalogue) -> float:
    """Return the greatest current of the parts that read a group's lanes; a part shared by groups counts in each."""
    banks = {str(bank.number): bank for bank in layout.banks}
    counted = Counter((lane.source, lane.where) for lane in lanes)
    amps = 0.0
    for (source, where), registers in counted.items():
        match source:
            case Source.CHAIN:
                register = catalogue.registers[REGISTER]
                amps += registers * register_amps_most(board, register, layout.spi_hz or 0)
            case Source.EXPANDER:
                amps += catalogue.expanders[EXPANDER].figures["supply_current"].greatest
            case Source.MULTIPLEXER:
                part = catalogue.multiplexers[MULTIPLEXERS[banks[where].inputs]]
                amps += banks[where].multiplexers * part.figures["supply_current"].greatest
    return amps


def _pull_ups(lanes: Sequence[Lane]) -> int:
    """Return how many pull-ups can carry current at once for a group's lanes."""
    each = sum(point is not None for lane in lanes if lane.source is not Source.MULTIPLEXER for point in lane.points)
    commons = {(lane.where, bit) for lane in lanes if lane.source is Source.MULTIPLEXER
               for bit, point in enumerate(lane.points) if point is not None}  # fmt: skip
    return each + len(commons)


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
