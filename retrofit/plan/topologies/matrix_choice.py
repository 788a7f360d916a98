"""The diode matrix as it would be built for a group: its rows, its wait, and the pull-up of its columns.

The columns have the usual pull-up unless only another of the series E24 keeps every limit.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import ceil

from retrofit.circuits.eseries_values import Series, values_between
from retrofit.circuits.matrix_drive import driver_ohms
from retrofit.circuits.pullup import PULL_UP_OHMS, PULL_UP_TOLERANCE
from retrofit.circuits.result import Span
from retrofit.circuits.sense import diode_matrix
from retrofit.circuits.sense.design import SenseDesign, Verdict
from retrofit.circuits.sense.logic_input import pin_input
from retrofit.circuits.sense.matrix_network import Matrix
from retrofit.circuits.settle import matrix_settle
from retrofit.plan.matrix_scan import matrix_diode
from retrofit.plan.topologies.demand import Bench, Demand
from retrofit.plan.topologies.kinds import Kind

_PULL_UPS_TRIED = (4.7e3, 47e3)


def matrix_for(kind: Kind, demand: Demand, bench: Bench) -> tuple[Matrix, SenseDesign]:
    """Return the matrix of a group with its judged figures.

    A row that is driven high feeds only the diodes of its own crossing into a column, one for each idle row.
    """
    usual = _with_pull_up(_matrix(kind, demand, bench), PULL_UP_OHMS, demand, bench)
    tried = ((matrix, _design(matrix, demand, bench)) for matrix in _pull_ups(usual, demand, bench))
    first = usual, _design(usual, demand, bench)
    if first[1].verdict is not Verdict.FAILS or first[1].refusals:
        return first
    return next((pair for pair in tried if pair[1].verdict is not Verdict.FAILS), first)


def _pull_ups(usual: Matrix, demand: Demand, bench: Bench) -> Iterator[Matrix]:
    """Yield the matrix with every other pull-up, the nearest to the usual one first."""
    values = sorted(values_between(Series.E24, *_PULL_UPS_TRIED), key=lambda ohms: abs(ohms - PULL_UP_OHMS))
    return (_with_pull_up(usual, ohms, demand, bench) for ohms in values)


def _matrix(kind: Kind, demand: Demand, bench: Bench) -> Matrix:
    wiring, columns = demand.group.wiring, demand.group.wanted.matrix_columns
    rows, contact = ceil(demand.places / columns), wiring.contact_resistance.value
    return Matrix(
        diode=matrix_diode(demand.group, bench.catalogue),
        cable=bench.cable,
        rows=rows,
        columns=columns,
        row_ohms=driver_ohms(bench.board),
        series_ohms=None if contact is None else Span.exact(contact),
        cable_m=demand.cable_taken_m,
        most_held=rows - 1 if kind is Kind.MATRIX_DRIVEN else None,
    )


def _with_pull_up(matrix: Matrix, ohms: float, demand: Demand, bench: Bench) -> Matrix:
    """Return the matrix with this pull-up, and the wait that it needs."""
    settling = matrix_settle(
        bench.board,
        matrix_diode(demand.group, bench.catalogue),
        bench.cable,
        cable_m=demand.cable_taken_m,
        rows=matrix.rows,
        pull_up_ohms=ohms * (1 + PULL_UP_TOLERANCE),
    )
    return replace(matrix, pull_up_ohms=ohms, wait_us=settling.wait_us)


def _design(matrix: Matrix, demand: Demand, bench: Bench) -> SenseDesign:
    return diode_matrix.design(demand.sensing.line, pin_input(bench.board), matrix=matrix)
