"""Prints the firmware's costs on the RP2040, fitted to quiet scans: `python -m tests.emulator.rp2040.calibrate`.

Consoles drawn by chance are planned for this board, each group on an interface of its own; each is built and left alone
in the emulator, and the costs are fitted to the length of each kind of tick and to runs that follow each other closely.
What no quiet scan shows is kept: `chain_run`, `chain_lane_loop` and `chain_skip`, which are hidden behind the bytes on
the wire, `event_handling`, `lane_changed`, `lane_counted` and `main_loop_jitter`.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.optimize import least_squares

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import FirmwareCosts
from retrofit.plan.model import ConversionPlan
from retrofit.scan.busy import ScanWork
from retrofit.survey.job import Job
from tests.emulator.demos import console
from tests.emulator.harness import CYCLES_PER_US, run
from tests.emulator.quiet import due_runs, paces, read_together
from tests.emulator.rp2040.consoles import BOARD, CPU_HZ, drawn_job

RUN_MS = 700
RUN_WEIGHT = 0.5
"""A run counts half as much as a whole tick."""
SEEDS = range(100, 103)
INTERFACES = (
    ("chain",),
    ("pins",),
    ("matrix",),
    ("multiplexer",),
    ("expander",),
    ("chain", "pins"),
    ("chain", "expander"),
    ("chain", "matrix"),
)
START = {
    "tick_base": 60.0,
    "group": 20.0,
    "group_due": 20.0,
    "beyond_chain": 20.0,
    "run": 50.0,
    "run_passed": 20.0,
    "chain_search": 30.0,
    "chain_latch": 100.0,
    "matrix_row": 100.0,
    "port_lane": 50.0,
    "bank_lane": 100.0,
    "select_line": 25.0,
    "expander_lane": 50.0,
}
"""What is fitted, from where.  The chain's bytes are so slow beside this processor that `chain_gap` cannot be seen."""


@dataclass(frozen=True)
class Tick:
    """One kind of quiet tick as measured: the runs that were marked, its processor cycles, those from mark to mark."""

    plan: ConversionPlan
    numbers: str
    cycles: float
    run_cycles: tuple[float, ...]


def measured(job: Job) -> Iterator[Tick]:
    """Yield every kind of quiet tick of a planned job."""
    built = console(job)
    seen = run(built.stage.scenario(built.image.hex, RUN_MS))
    for numbers, shape in seen.scans["quiet"].items():
        cycles = tuple(_cycles(spread["mean"]) for spread in shape["runs"])
        yield Tick(built.plan, numbers, _cycles(shape["total"]["mean"]), cycles)


def _cycles(counts: float) -> float:
    return counts / CYCLES_PER_US * CPU_HZ / 1e6


def errors(costs: FirmwareCosts, tick: Tick) -> Iterator[float]:
    """Yield the relative errors of one tick: of the whole, and of runs right behind which another of their kind ran."""
    layout, per_us = tick.plan.layout, CPU_HZ / 1e6
    work = ScanWork(layout, costs, layout.spi_hz, CPU_HZ, paces(tick.plan))
    due = {run.group for run in due_runs(tick.plan, tick.numbers)}
    yield work.tick_us(due) * per_us / tick.cycles - 1
    together, marked = read_together(tick.plan), [int(number) - 1 for number in tick.numbers.split()]
    for number, following, cycles in zip(marked, marked[1:], tick.run_cycles, strict=False):
        read, next_read = layout.runs[number], layout.runs[following]
        if following == number + 1 and read.source is next_read.source and together[read] == (read,):
            yield RUN_WEIGHT * (work.run_us(read) * per_us / cycles - 1)


def fit(ticks: list[Tick], known: FirmwareCosts) -> FirmwareCosts:
    """Return the costs that come closest to what was measured."""

    def residuals(values: list[float]) -> np.ndarray:
        found: dict[str, Any] = dict(zip(START, values, strict=True))
        return np.array([error for tick in ticks for error in errors(replace(known, **found), tick)])

    start = list(START.values())
    best = least_squares(residuals, start, bounds=(0, np.inf), x_scale=start, loss="soft_l1", f_scale=0.01)
    rounded: dict[str, Any] = {name: round(value) for name, value in zip(START, best.x, strict=True)}
    return replace(known, **rounded)


def main() -> None:
    """Measure, fit, and print the costs and how far the whole ticks are off with them."""
    jobs = [drawn_job(seed, interfaces) for seed in SEEDS for interfaces in INTERFACES]
    ticks = [tick for job in jobs for tick in measured(job)]
    costs = fit(ticks, load_catalogue().firmware_costs[BOARD])
    for name in START:
        sys.stdout.write(f"{name} = {getattr(costs, name)}\n")
    off = [next(errors(costs, tick)) for tick in ticks]
    sys.stdout.write(f"{len(off)} kinds of tick, off by {100 * min(off):+.1f} % to {100 * max(off):+.1f} %\n")


if __name__ == "__main__":
    main()
