"""From a survey to a conversion plan.  Pure: same job and catalogue, same plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board
from retrofit.circuits.sense.design import SenseDesign
from retrofit.midi.assign import assign_messages
from retrofit.midi.assignment import Assignment
from retrofit.plan.digest import plan_digest
from retrofit.plan.facts import Facts
from retrofit.plan.findings import collect_findings
from retrofit.plan.group_plans import GroupTiming, group_timings
from retrofit.plan.levels import pull_up_levels
from retrofit.plan.listening import listened_groups, strobes_design
from retrofit.plan.message_changes import message_changes
from retrofit.plan.model import ConversionPlan, GroupPlan, Move, PointPlan
from retrofit.plan.recorded import recorded_addresses
from retrofit.plan.scan_choice import ScanChoice, choose_scan
from retrofit.plan.sensing.feels import felt_by_supplies
from retrofit.plan.sensing.groups import chosen_levels, sense_groups
from retrofit.plan.sensing.isolation import plan_isolation
from retrofit.plan.sensing.model import GroupSensing
from retrofit.plan.sensing.power import plan_power
from retrofit.plan.sensing.supplies import OrganSupplies
from retrofit.scan.addresses import Address
from retrofit.scan.crowded import crowded_scan
from retrofit.scan.layout import ScanLayout
from retrofit.scan.moves import find_moves
from retrofit.survey.job import Job
from retrofit.survey.points import Point, list_points
from retrofit.survey.wishes import DebounceFamily, MatrixDrive

_EMPTY = ScanLayout(lanes=(), runs=(), registers=0, spi_hz=None)


def plan_conversion(job: Job, catalogue: Catalogue) -> ConversionPlan:
    """Return the plan of a job.  Nothing is raised for a job that was loaded: what is wrong is among the findings."""
    points = list_points(job)
    assignment = assign_messages(job, points)
    board = catalogue.boards.get(job.wanted.board)
    if board is None:
        facts = _unplanned(job, points, assignment, tuple(catalogue.boards))
        return _plan(facts, {})
    sensing = sense_groups(job, points, board, catalogue)
    choice = choose_scan(job, points, board, catalogue, chosen_levels(sensing))
    timings = group_timings(job, points, choice, catalogue, sensing)
    facts = _facts(job, points, assignment, board, choice, timings, catalogue)
    return _plan(_with_sensing(facts, board, catalogue, sensing), choice.figures | _crowded_figures(choice, timings))


def _crowded_figures(choice: ScanChoice, timings: Sequence[GroupTiming]) -> dict[str, float]:
    """Return what the scan takes in which every contact changes, and by how much the next sample then comes late."""
    pacing = choice.pacing
    paces = {group: (divider, pacing.phase[group]) for group, divider in pacing.divider_log2.items()}
    counted = {
        t.plan.id for t in timings if t.plan.debounce and t.plan.debounce.family is not DebounceFamily.FIRST_EDGE
    }
    found = crowded_scan(choice.layout, choice.costs, choice.clock_hz, pacing.tick_us, paces, counted)
    return {} if found is None else {"crowded_scan_us": found.scan_us, "crowded_late_us": found.late_us}


def _with_sensing(facts: Facts, board: Board, catalogue: Catalogue, sensing: tuple[GroupSensing, ...]) -> Facts:
    job = facts.job
    return replace(
        facts,
        sensing=sensing,
        supplies_felt=felt_by_supplies(job.groups, sensing, OrganSupplies.of(job)),
        isolation=plan_isolation(job, sensing),
        power=plan_power(job, facts.layout, board, catalogue, sensing),
        strobes=_strobes(job, board, catalogue),
    )


def _strobes(job: Job, board: Board, catalogue: Catalogue) -> SenseDesign | None:
    """Return the circuit of the strobes that are listened to; None where there are none, or they were not read."""
    found = next((group.wiring.strobes for group in listened_groups(job)), None)
    return None if found is None else strobes_design(found, board, catalogue)


def _facts(
    job: Job,
    points: Sequence[Point],
    assignment: Assignment,
    board: Board,
    choice: ScanChoice,
    timings: Sequence[GroupTiming],
    catalogue: Catalogue,
) -> Facts:
    addresses = choice.layout.addresses
    moves = find_moves(recorded_addresses(job), addresses)
    return Facts(
        job=job,
        board=board,
        boards_known=tuple(catalogue.boards),
        points=_point_plans(points, addresses, assignment),
        groups=tuple(timing.plan for timing in timings),
        layout=choice.layout,
        assignment=assignment,
        tick_us=choice.pacing.tick_us if choice.pacing.fits else None,
        busy_us=choice.pacing.busy.total_us,
        unplaced=choice.unplaced,
        moves=tuple(Move(*move) for move in moves),
        debounce={timing.plan.id: timing.chosen for timing in timings if timing.chosen},
        bounce={timing.plan.id: timing.bounce for timing in timings if timing.bounce},
        assumptions=choice.assumptions,
        levels=pull_up_levels(job, board, catalogue),
        contacts_known=tuple(catalogue.contacts),
        message_changes=message_changes(job, points, assignment),
        bus=choice.bus,
    )


def _unplanned(job: Job, points: Sequence[Point], assignment: Assignment, boards: tuple[str, ...]) -> Facts:
    """Return what can be said without a board: the messages."""
    return Facts(
        job=job,
        board=None,
        boards_known=boards,
        points=_point_plans(points, {}, assignment),
        groups=(),
        layout=_EMPTY,
        assignment=assignment,
        tick_us=None,
        busy_us=0.0,
        message_changes=message_changes(job, points, assignment),
    )


def _point_plans(
    points: Sequence[Point], addresses: Mapping[str, Address], assignment: Assignment
) -> tuple[PointPlan, ...]:
    return tuple(
        PointPlan(
            point,
            addresses.get(point.same_line_as or point.id),
            assignment.messages.get(point.id),
            assignment.shoes.get(point.id),
        )
        for point in points
    )


def _front_ends(layout: ScanLayout) -> Iterator[str]:
    """Yield what the board does with its matrices and with a scanner of the organ's beyond the usual reading."""
    for matrix in layout.matrices:
        if matrix.precharge_us or matrix.drive is not MatrixDrive.FLOATING:
            waits = f"charged {matrix.precharge_us:g} settled {matrix.settle_us:g}"
            yield f"matrix {matrix.number} {matrix.drive.value} {waits}"
    if layout.listener is not None:
        active = "low" if layout.listener.active_low else "high"
        yield f"strobes active {active} settled {layout.listener.settle_us:g} silent {layout.listener.silent_us:g}"


def _plan(facts: Facts, figures: Mapping[str, float]) -> ConversionPlan:
    tick_us = facts.tick_us or 0
    groups: tuple[GroupPlan, ...] = facts.groups
    return ConversionPlan(
        job=facts.job,
        digest=plan_digest(
            facts.job.instrument.name,
            facts.job.wanted,
            tick_us,
            facts.points,
            groups,
            facts.layout.lanes,
            tuple(_front_ends(facts.layout)),
        ),
        board=facts.job.wanted.board,
        tick_us=tick_us,
        busy_us=facts.busy_us,
        points=facts.points,
        groups=groups,
        layout=facts.layout,
        findings=collect_findings(facts),
        moves=facts.moves,
        figures=dict(figures),
        sensing=facts.sensing,
        supplies_felt=facts.supplies_felt,
        isolation=facts.isolation,
        power=facts.power,
        message_changes=facts.message_changes,
    )
