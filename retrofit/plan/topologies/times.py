"""How long one reading of every contact takes, in each way of reading.

Chain, matrix and pins are worked out by the model of the firmware's scan.  A multiplexer's step is taken as a row of a
matrix: lines are set, the levels settle, a port is read.  A byte that a bus has brought is looked at like that of a
port.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from retrofit.circuits.common_settle import common_settle
from retrofit.circuits.pullup import PULL_UP_OHMS, PULL_UP_TOLERANCE
from retrofit.circuits.two_wire_bus import read_s
from retrofit.plan.topologies.demand import Bench, Demand
from retrofit.plan.topologies.kinds import MATRICES, MULTIPLEXERS, Kind
from retrofit.plan.topologies.matrix_choice import matrix_for
from retrofit.plan.topologies.model import Counts, ScanTime
from retrofit.scan.busy import ScanWork
from retrofit.scan.layout import MatrixLayout, Run, ScanLayout, Source

PORT_BYTES = 2
"""Bytes that hold the inputs of an expander."""
SERIAL_BITS = 8 * (2 + PORT_BYTES)
"""A read of a serial expander: device, register, two bytes (Microchip DS20001952C)."""


@dataclass(frozen=True, slots=True)
class Timed:
    """What the scan of one group is made of."""

    kind: Kind
    counts: Counts
    settle_us: float
    hz: int | None


def settle_us(kind: Kind, demand: Demand, bench: Bench) -> float:
    """Return the wait of each step of a scan; 0 for ways that need none."""
    ohms = PULL_UP_OHMS * (1 + PULL_UP_TOLERANCE)
    metres = demand.cable_taken_m
    if kind in MULTIPLEXERS:
        part = bench.catalogue.multiplexers[MULTIPLEXERS[kind]]
        return common_settle(bench.board, part, bench.cable, cable_m=metres, pull_up_ohms=ohms).wait_us
    if kind in MATRICES:
        return matrix_for(kind, demand, bench)[0].wait_us or 0.0
    return 0.0


def scan_time(timed: Timed, bench: Bench) -> ScanTime:
    """Return the time of one reading of a group alone on a board."""
    steps = _steps(timed)
    in_background = timed.kind is Kind.TWO_WIRE
    scan_us = bus_us(timed) if in_background else busy_us({"alone": timed}, bench)
    return ScanTime(scan_us, timed.settle_us, steps, in_background)


def _steps(timed: Timed) -> int:
    return timed.counts.lanes if timed.kind in MATRICES or timed.kind in MULTIPLEXERS else 1


def bus_us(timed: Timed) -> float:
    """Return how long the wire is busy with every expander once; 0 where no clock can work."""
    if timed.hz is None:
        return 0.0
    if timed.kind is Kind.TWO_WIRE:
        return 1e6 * timed.counts.devices * read_s(PORT_BYTES, timed.hz)
    return 1e6 * timed.counts.devices * SERIAL_BITS / timed.hz if timed.kind is Kind.SERIAL else 0.0


def busy_us(groups: Mapping[str, Timed], bench: Bench) -> float:
    """Return how long the controller is busy with one reading of all groups; a two-wire bus works beside it."""
    layout = _layout(groups)
    work = ScanWork(layout, bench.costs, layout.spi_hz, bench.board.clock_hz)
    return work.tick_us(set(groups)) + sum(bus_us(timed) for timed in groups.values() if timed.kind is Kind.SERIAL)


def _layout(groups: Mapping[str, Timed]) -> ScanLayout:
    """Return what the model of the scan counts, without addresses: a run for each group, and for each of its ports."""
    chain = [name for name, timed in groups.items() if timed.kind is Kind.CHAIN]
    rows = {name: str(n) for n, (name, timed) in enumerate(groups.items(), 1) if _steps(timed) > 1 or timed.settle_us}
    pins = [name for name, timed in groups.items() if timed.kind is Kind.PINS]
    brought = [name for name in groups if name not in (*chain, *rows, *pins)]
    runs = [
        *(Run(name, Source.CHAIN, "chain", 0, groups[name].counts.lanes) for name in chain),
        *(Run(name, Source.MATRIX, number, 0, groups[name].counts.lanes) for name, number in rows.items()),
        *(Run(name, Source.PORT, str(port), 0, 1) for name in pins for port in range(groups[name].counts.lanes)),
        *(Run(name, Source.PORT, "bus", 0, groups[name].counts.lanes) for name in brought),
    ]
    matrices = tuple(MatrixLayout(int(number), (), "", 8, groups[name].settle_us) for name, number in rows.items())
    clocks = [hz for name in chain if (hz := groups[name].hz) is not None]
    registers = sum(groups[name].counts.lanes for name in chain)
    return ScanLayout((), tuple(runs), registers, min(clocks, default=None), matrices)
