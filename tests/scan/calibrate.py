"""Prints the firmware's costs, fitted to quiet scans in the emulator: `python -m tests.scan.calibrate`.

Both demo jobs are planned with their groups on chains, matrices, pins, multiplexers and expanders, alone and together,
and with cables of several lengths, which changes the chain's clock; each is built and left alone in the emulator.  The
costs are fitted to the length of each kind of tick and to readings that follow each other closely.  What only shows on
a faster chain, or not in a quiet scan, is kept: `chain_latch`, `chain_lane_loop`, `event_handling`, `lane_changed`,
`lane_counted` and `main_loop_jitter`.  `bus_step` is read from the rounds of a console with a single expander, which no
scan interrupts.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from statistics import fmean
from typing import Any

import numpy as np
from scipy.optimize import least_squares

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import FirmwareCosts
from retrofit.plan.model import ConversionPlan
from retrofit.scan.bus_round import READ_BITS, READ_STEPS
from retrofit.scan.busy import ScanWork
from retrofit.survey.bench import parse_reading
from retrofit.survey.job import Job
from retrofit.survey.wishes import Interface
from tests.emulator.demos import console, demo_job
from tests.emulator.harness import run
from tests.emulator.quiet import due_runs, paces, read_together

CLOCK_HZ = 16_000_000
RUN_MS = 2900
"""Past the wait at power-on and long enough for hundreds of quiet scans."""
RUN_WEIGHT = 0.5
"""A run counts half as much as a whole tick."""
START = {
    "tick_base": 50.0,
    "group": 20.0,
    "group_due": 20.0,
    "beyond_chain": 20.0,
    "run": 50.0,
    "run_passed": 20.0,
    "chain_search": 40.0,
    "chain_run": 30.0,
    "chain_gap": 5.0,
    "chain_skip": 15.0,
    "matrix_row": 100.0,
    "port_lane": 50.0,
    "bank_lane": 100.0,
    "select_line": 25.0,
    "expander_lane": 50.0,
}
"""What is fitted, from where."""
ON_MATRICES = {"upper": "matrix", "lower": "matrix", "pedal": "matrix", "tabs": "chain", "pistons": "pins"}
ON_MULTIPLEXERS = {"upper": "multiplexer", "lower": "multiplexer", "pedal": "multiplexer", "tabs": "chain"}
MIXED = {"upper": "multiplexer", "lower": "expander", "pedal": "matrix", "tabs": "chain", "pistons": "pins"}
ON_THE_BUS = {"upper": "expander", "lower": "chain", "pedal": "multiplexer", "tabs": "pins", "pistons": "expander"}
NO_CHAIN = {"upper": "multiplexer", "lower": "multiplexer", "pedal": "matrix", "tabs": "expander", "pistons": "pins"}
ALL_ON_THE_CHAIN = dict.fromkeys(("upper", "lower", "pedal", "tabs", "pistons"), "chain")
LONE = {"tabs": "pins", "pedal": "matrix", "upper": "chain", "lower": "multiplexer"}
"""Groups that are also measured alone, and where."""
VARIANTS: list[tuple[str, float, dict[str, str], int]] = [
    ("gutted_home", 1, {}, 8),
    ("gutted_home", 1, {"upper": "matrix", "lower": "chain", "pedal": "matrix"}, 5),
    ("gutted_home", 1, ON_MATRICES, 8),
    ("gutted_home", 1, ON_MATRICES | {"tabs": "matrix"}, 8),
    ("gutted_home", 8, {}, 8),
    ("gutted_home", 8, ON_MATRICES, 8),
    ("gutted_home", 25, {}, 8),
    ("theatre", 1, {}, 8),
    ("theatre", 8, {}, 8),
    ("theatre", 25, {}, 8),
    ("gutted_home", 1, ON_MULTIPLEXERS, 8),
    ("gutted_home", 1, ON_MULTIPLEXERS | {"pistons": "multiplexer"}, 5),
    ("gutted_home", 1, MIXED, 8),
    ("gutted_home", 1, MIXED, 5),
    ("gutted_home", 1, ON_THE_BUS, 8),
    ("gutted_home", 1, NO_CHAIN, 8),
    ("gutted_home", 1, ALL_ON_THE_CHAIN, 8),
    ("gutted_home", 1, NO_CHAIN | {"pedal": "multiplexer"}, 5),
]
"""Demo job, metres of cable, interfaces of groups, columns of matrices; below 8, multiplexers have 8 inputs."""


@dataclass(frozen=True)
class Tick:
    """One kind of quiet tick as measured: the runs that were marked, its cycles, and those from mark to mark."""

    plan: ConversionPlan
    numbers: str
    cycles: float
    run_cycles: tuple[float, ...]


def measured(job: Job) -> Iterator[Tick]:
    """Yield every kind of quiet tick of a planned job."""
    built = console(job)
    seen = run(built.stage.scenario(built.image.hex, RUN_MS))
    for numbers, shape in seen.scans["quiet"].items():
        cycles = tuple(spread["mean"] for spread in shape["runs"])
        yield Tick(built.plan, numbers, shape["total"]["mean"], cycles)


def variant(name: str, metres: float, interfaces: dict[str, str], columns: int) -> Job:
    """Return a demo job with other cables and interfaces."""
    job = demo_job(name)
    groups = []
    for group in job.groups:
        wiring = group.wiring.model_copy(update={"cable_length": parse_reading(metres, "m")})
        interface = Interface(interfaces[group.id]) if group.id in interfaces else group.wanted.interface
        inputs = 16 if columns == 8 else 8
        changes = {"interface": interface, "matrix_columns": columns, "multiplexer_inputs": inputs}
        wanted = group.wanted.model_copy(update=changes)
        groups.append(group.model_copy(update={"wiring": wiring, "wanted": wanted}))
    return job.model_copy(update={"groups": tuple(groups)})


def lone_group(group_id: str) -> Job:
    """Return a demo job with one group alone."""
    job = variant("gutted_home", 1, LONE, 8)
    return job.model_copy(update={"groups": tuple(group for group in job.groups if group.id == group_id)})


def errors(costs: FirmwareCosts, tick: Tick) -> Iterator[float]:
    """Yield the relative errors of one tick: of the whole, and of runs right behind which another of their kind ran."""
    layout = tick.plan.layout
    work = ScanWork(layout, costs, layout.spi_hz, CLOCK_HZ, paces(tick.plan))
    due = {run.group for run in due_runs(tick.plan, tick.numbers)}
    yield work.tick_us(due) * 16 / tick.cycles - 1
    together, marked = read_together(tick.plan), [int(number) - 1 for number in tick.numbers.split()]
    for number, following, cycles in zip(marked, marked[1:], tick.run_cycles, strict=False):
        run, next_run = layout.runs[number], layout.runs[following]
        if following == number + 1 and run.source is next_run.source and together[run] == (run,):
            yield RUN_WEIGHT * (work.run_us(run) * 16 / cycles - 1)


def fit(ticks: list[Tick], known: FirmwareCosts) -> FirmwareCosts:
    """Return the costs that come closest to what was measured."""

    def residuals(values: list[float]) -> np.ndarray:
        found: dict[str, Any] = dict(zip(START, values, strict=True))
        costs = replace(known, **found)
        return np.array([error for tick in ticks for error in errors(costs, tick)])

    start = list(START.values())
    best = least_squares(residuals, start, bounds=(0, np.inf), x_scale=start, loss="soft_l1", f_scale=0.01)
    rounded: dict[str, Any] = {name: round(value) for name, value in zip(START, best.x, strict=True)}
    return replace(known, **rounded)


def bus_step() -> int:
    """Return the mean cycles between the end of a step on the bus and the order of the next."""
    built = console(variant("gutted_home", 1, {"pistons": "expander"}, 8))
    bus = run(built.stage.scenario(built.image.hex, RUN_MS)).bus
    settled = [end - begin for begin, end in bus["rounds"]][len(bus["rounds"]) // 2 :]
    bits: float = (READ_BITS + 1) * CLOCK_HZ / bus["hertz"]
    return round((fmean(settled) - bits) / READ_STEPS)


def main() -> None:
    """Measure, fit, and print the costs and how far the whole ticks are off with them."""
    jobs = [*(variant(*each) for each in VARIANTS), *(lone_group(group) for group in LONE)]
    ticks = [tick for job in jobs for tick in measured(job)]
    costs = fit(ticks, load_catalogue().firmware_costs["atmega2560"])
    for name in START:
        sys.stdout.write(f"{name} = {getattr(costs, name)}\n")
    sys.stdout.write(f"bus_step = {bus_step()}\n")
    off = [next(errors(costs, tick)) for tick in ticks]
    sys.stdout.write(f"{len(off)} kinds of tick, off by {100 * min(off):+.1f} % to {100 * max(off):+.1f} %\n")


if __name__ == "__main__":
    main()
