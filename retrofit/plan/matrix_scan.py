"""How each matrix is read: its rows floating or driven, its columns charged behind each row or left to their pull-ups.

Charging costs time of its own.  It is chosen where it saves a fifth of what the rows take, or where the matrices of the
console would otherwise need a longer tick; and only on lines that are ours, for it drives them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import ceil

from retrofit.catalogue.figures import CatalogueError
from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board, Diode, FirmwareCosts
from retrofit.circuits.matrix_drive import PinGuard, driver_ohms, row_guard
from retrofit.circuits.precharge import ChargedMatrix, Precharge, precharge
from retrofit.circuits.pullup import PULL_UP_OHMS, PULL_UP_TOLERANCE
from retrofit.circuits.settle import SettleWait, matrix_settle
from retrofit.plan.interfaces import interface_of
from retrofit.scan.matrix_places import ROWS
from retrofit.scan.period import BUSY_SHARE, TICKS_US
from retrofit.scan.requests import MatrixStyle
from retrofit.survey.contacts import Group
from retrofit.survey.job import Job
from retrofit.survey.points import Point, PointKind
from retrofit.survey.wiring import DiodeFound, Owner
from retrofit.survey.wishes import Interface, MatrixDrive

PAYS_SHARE = 0.2
"""Charging pays when it saves this share of the time of the rows; common practice, no source."""

_DIODES = {
    DiodeFound.SILICON: "1n4148",
    DiodeFound.SCHOTTKY: "bat85",
    DiodeFound.GERMANIUM: "bat85",
}
"""Whose junction capacitance stands for a kind of diode; a diode that was not identified is taken as the larger."""


@dataclass(frozen=True, slots=True)
class MatrixScan:
    """How a group's matrix is read.

    `drive` is what can be done of what was wished.  `plain` is the wait without charging, `offered` the charging that
    could be done, `charged` whether it is.  `row_guard` is the resistor of each driven row, None where rows float.
    """

    drive: MatrixDrive
    rows: int
    plain: SettleWait
    offered: Precharge | None
    charged: bool = False
    row_guard: PinGuard | None = None

    @property
    def precharge(self) -> Precharge | None:
        """The charging that is done."""
        return self.offered if self.charged else None

    @property
    def wait_us(self) -> float:
        """The wait between driving a row and reading it."""
        return self.precharge.settle_us if self.precharge is not None else self.plain.wait_us

    @property
    def style(self) -> MatrixStyle:
        """What the layout is asked for."""
        charge_us = self.precharge.charge_us if self.precharge is not None else 0.0
        return MatrixStyle(self.drive, charge_us, self.plain.wait_us)

    def rows_us(self, costs: FirmwareCosts, clock_hz: int, *, charged: bool) -> float:
        """Return the time of all its rows, waiting and reading."""
        cycle_us = 1e6 / clock_hz
        wait_us = ceil(self.plain.wait_us) + costs.matrix_row * cycle_us
        if charged and self.offered is not None:
            wait_us = self.offered.row_us + (costs.matrix_row + costs.matrix_charge) * cycle_us
        return self.rows * wait_us


def matrix_scans(job: Job, points: Sequence[Point], board: Board, catalogue: Catalogue) -> dict[str, MatrixScan]:
    """Return how the matrix of every group on one is read."""
    contacts = Counter(point.group for point in points if point.kind is not PointKind.SHOE)
    scans = {
        group.id: matrix_scan(group, contacts[group.id], board, catalogue)
        for group in job.groups
        if interface_of(group) is Interface.MATRIX and contacts[group.id]
    }
    costs = catalogue.firmware_costs[board.id]
    wishes = {group.id: group.wanted.matrix_precharge for group in job.groups}
    paying = {name for name, scan in scans.items() if _pays(scan, costs, board.clock_hz)}
    shorter = _tick_us(scans.values(), costs, board.clock_hz, charged=True) < _tick_us(
        scans.values(), costs, board.clock_hz, charged=False
    )
    return {
        name: replace(scan, charged=scan.offered is not None and _wanted(wishes[name], name in paying or shorter))
        for name, scan in scans.items()
    }


def _wanted(wish: bool | None, pays: bool) -> bool:
    return pays if wish is None else wish


def _pays(scan: MatrixScan, costs: FirmwareCosts, clock_hz: int) -> bool:
    plain_us, charged_us = (scan.rows_us(costs, clock_hz, charged=charged) for charged in (False, True))
    return charged_us <= (1 - PAYS_SHARE) * plain_us


def _tick_us(scans: Iterable[MatrixScan], costs: FirmwareCosts, clock_hz: int, *, charged: bool) -> float:
    """Return the shortest tick in whose allowed part all rows fit; a longer one than there is when none does."""
    total_us = sum(scan.rows_us(costs, clock_hz, charged=charged) for scan in scans)
    return next((tick_us for tick_us in TICKS_US if total_us <= BUSY_SHARE * tick_us), 2 * TICKS_US[-1])


def matrix_scan(group: Group, contacts: int, board: Board, catalogue: Catalogue) -> MatrixScan:
    """Return how a group's matrix would be read, charging offered where it may be done and helps, not yet chosen."""
    drive = group.wanted.matrix_drive if has_diodes(group) else MatrixDrive.FLOATING
    guard = row_guard(board, ROWS) if drive is MatrixDrive.PUSH_PULL else None
    return MatrixScan(
        drive=drive,
        rows=ceil(contacts / group.wanted.matrix_columns),
        plain=_plain(group, board, catalogue),
        offered=_offered(group, guard, board, catalogue) if group.wiring.owner is Owner.US else None,
        row_guard=guard,
    )


def has_diodes(group: Group) -> bool:
    """Return whether a diode is known to stand at each key, without which rows may not be driven against each other."""
    return group.wiring.diodes in _DIODES


def matrix_diode(group: Group, catalogue: Catalogue) -> Diode:
    """Return the diode that stands for the kind that was found."""
    return catalogue.diodes[_DIODES.get(group.wiring.diodes, "bat85")]


def _plain(group: Group, board: Board, catalogue: Catalogue) -> SettleWait:
    return matrix_settle(
        board,
        matrix_diode(group, catalogue),
        catalogue.cables["unknown"],
        cable_m=group.wiring.cable_length.value,
        pull_up_ohms=PULL_UP_OHMS * (1 + PULL_UP_TOLERANCE),
    )


def _offered(group: Group, guard: PinGuard | None, board: Board, catalogue: Catalogue) -> Precharge | None:
    """Return the charging of a group's columns; None where its keys cannot pull a charged column low for certain."""
    matrix = ChargedMatrix(
        board=board,
        diode=matrix_diode(group, catalogue),
        cable=catalogue.cables["unknown"],
        cable_m=group.wiring.cable_length.value,
        rows=ROWS,
        columns=group.wanted.matrix_columns,
        pull_up_ohms=PULL_UP_OHMS * (1 + PULL_UP_TOLERANCE),
        row_ohms=driver_ohms(board) + (0.0 if guard is None else guard.ohms_most),
        contact_ohms=group.wiring.contact_resistance.value,
        rows_float=guard is None,
    )
    try:
        return precharge(matrix)
    except (ValueError, CatalogueError):
        return None
