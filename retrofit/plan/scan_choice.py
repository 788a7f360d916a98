"""Choosing the scan: the chain's clock, the settle waits, the layout and the pace."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board, FirmwareCosts
from retrofit.circuits.bus_clock import BusClock
from retrofit.circuits.chain_timing import ChainClock, highest_spi_hz
from retrofit.circuits.settle import SettleWait
from retrofit.circuits.two_wire_bus import STANDARD_MODE
from retrofit.plan.front_ends import bus_clock, multiplexer_wait
from retrofit.plan.interfaces import interface_of
from retrofit.plan.least_tick import least_tick_us
from retrofit.plan.listening import listen_styles
from retrofit.plan.matrix_scan import matrix_scans
from retrofit.plan.recorded import fixed_addresses
from retrofit.plan.requests import FrontEnds, group_requests
from retrofit.scan.allocate import lay_out
from retrofit.scan.layout import ScanLayout
from retrofit.scan.listen_load import listen_load
from retrofit.scan.period import Pacing, choose_periods
from retrofit.scan.requests import Unplaced
from retrofit.survey.job import Job
from retrofit.survey.points import Point
from retrofit.survey.wishes import Interface

REGISTER = "74hc165"
"""The register of the shift-in chain that the firmware's clock mode is made for."""


@dataclass(frozen=True, slots=True)
class ScanChoice:
    """A layout with its pace, what found no place, and what had to be assumed."""

    layout: ScanLayout
    unplaced: tuple[Unplaced, ...]
    pacing: Pacing
    costs: FirmwareCosts
    clock_hz: int
    assumptions: tuple[tuple[str, str], ...]
    figures: dict[str, float]
    bus: BusClock | None = None

    def cycles_us(self, cycles: float) -> float:
        """Return processor cycles as microseconds."""
        return cycles * 1e6 / self.clock_hz

    def stretched_us(self, cycles: float) -> float:
        """Return the same with the interrupts of a scanner that is listened to."""
        load = listen_load(self.layout.listener, self.costs, self.clock_hz)
        taken_us = self.cycles_us(cycles)
        return taken_us if load is None else load.stretched_us(taken_us)


def choose_scan(
    job: Job,
    points: Sequence[Point],
    board: Board,
    catalogue: Catalogue,
    chosen_levels: Mapping[str, bool] | None = None,
) -> ScanChoice:
    """Return the scan of a job on a board; what cannot be placed or measured is in the result.

    `chosen_levels` tells, by group, whether a keyed line reads high behind the sense circuit that was chosen for it.
    """
    clock = chain_clock(job, board, catalogue)
    waits = _waits(job, board, catalogue)
    scans = matrix_scans(job, points, board, catalogue)
    front_ends = FrontEnds(
        settle_us={group: wait.wait_us for group, wait in waits.items()}
        | {group: scan.wait_us for group, scan in scans.items()},
        matrices={group: scan.style for group, scan in scans.items()},
        listened=listen_styles(job, board, catalogue),
    )
    requests = group_requests(job, points, front_ends, chosen_levels or {})
    result = lay_out(requests, board, fixed=fixed_addresses(job, points), spi_hz=clock.hz if clock else None)
    bus = bus_clock(job, board, catalogue, len(result.layout.expanders))
    layout = replace(result.layout, bus_hz=_hz(bus) if result.layout.expanders else None)
    costs = catalogue.firmware_costs[board.id]
    speed = {request.group: request.speed for request in requests if request.interface != "converter"}
    pacing = choose_periods(
        layout, costs, board.clock_hz, speed, least_tick_us=least_tick_us(job.groups, catalogue.contacts)
    )
    return ScanChoice(
        layout=layout,
        unplaced=result.unplaced,
        pacing=pacing,
        costs=costs,
        clock_hz=board.clock_hz,
        assumptions=_assumptions(job, clock, bus, waits | {group: scan.plain for group, scan in scans.items()}),
        figures=_figures(clock, bus, pacing),
        bus=bus,
    )


def _waits(job: Job, board: Board, catalogue: Catalogue) -> dict[str, SettleWait]:
    """Return the settle wait of every group on multiplexers."""
    return {
        group.id: multiplexer_wait(group, board, catalogue)
        for group in job.groups
        if interface_of(group) is Interface.MULTIPLEXER
    }


def _hz(bus: BusClock | None) -> int:
    """Return the clock of the bus; a bus that cannot work, which is a finding, is shown with the slower one."""
    return bus.hz if bus is not None and bus.hz is not None else round(STANDARD_MODE.hertz)


def _figures(clock: ChainClock | None, bus: BusClock | None, pacing: Pacing) -> dict[str, float]:
    figures = {"spi_hz": float(clock.hz)} if clock else {}
    if bus is not None and bus.hz is not None and bus.pull_up_ohms is not None and pacing.bus is not None:
        least, most = bus.pull_up_ohms
        figures |= {"bus_hz": float(bus.hz), "bus_pull_up_ohms_least": least, "bus_pull_up_ohms_most": most}
        figures["bus_round_us"] = pacing.bus.round_us
    return figures


def chain_clock(job: Job, board: Board, catalogue: Catalogue) -> ChainClock | None:
    """Return the clock of the chain, for the longest cable of the groups on it; None when no group is on the chain."""
    groups = [group for group in job.groups if interface_of(group) is Interface.CHAIN]
    if not groups:
        return None
    lengths = [group.wiring.cable_length.value for group in groups]
    known = [length for length in lengths if length is not None]
    longest = max(known) if len(known) == len(lengths) else None
    return highest_spi_hz(board, catalogue.registers[REGISTER], catalogue.cables["unknown"], longest)


def _assumptions(
    job: Job, clock: ChainClock | None, bus: BusClock | None, waits: Mapping[str, SettleWait]
) -> tuple[tuple[str, str], ...]:
    """Return what was assumed about cables, each beside the reading that would settle it."""
    said = [
        (f"groups.{group}.wiring.cable_length", words) for group, wait in waits.items() for words in wait.assumptions
    ]
    for interface, found in ((Interface.CHAIN, clock), (Interface.EXPANDER, bus)):
        unread = [g.id for g in job.groups if interface_of(g) is interface and not g.wiring.cable_length.known]
        words = () if found is None else found.assumptions
        said += [(f"groups.{group}.wiring.cable_length", each) for group in unread for each in words]
    return tuple(said)
