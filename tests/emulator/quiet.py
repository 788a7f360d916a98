"""What the scans of a console at rest take, beside what its plan says."""

from __future__ import annotations

from typing import Any

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.model import ConversionPlan
from retrofit.scan.busy import ScanWork
from retrofit.scan.layout import Run, Source
from retrofit.scan.stretches import chain_stretches
from tests.emulator.demos import Console
from tests.emulator.harness import CYCLES_PER_US, run

QuietScans = dict[str, Any]
"""Spreads of times in cycles, by the numbers (from 1) of the runs that were due."""


def quiet_scans(console: Console) -> QuietScans:
    """Run a console at rest for a second and return its quiet scans."""
    scans = run(console.stage.scenario(console.image.hex, console.listening_us / 1000 + 1000)).scans
    quiet: QuietScans = scans["quiet"]
    return quiet


def paces(plan: ConversionPlan) -> dict[str, tuple[int, int]]:
    """Return the divider's logarithm and the phase of each group of a plan."""
    return {group.id: (group.divider_log2, group.phase) for group in plan.groups}


def read_together(plan: ConversionPlan) -> dict[Run, tuple[Run, ...]]:
    """Return, by its first run, which is the one that is marked, what is read as one."""
    stretches = chain_stretches(plan.layout, paces(plan).__getitem__)
    others = {run: (run,) for run in plan.layout.runs if run.source is not Source.CHAIN}
    return {stretch.runs[0]: stretch.runs for stretch in stretches} | others


def due_runs(plan: ConversionPlan, numbers: str) -> list[Run]:
    """Return the runs that were read between the marks of a scan."""
    together = read_together(plan)
    return [run for number in numbers.split() for run in together[plan.layout.runs[int(number) - 1]]]


def scan_work(plan: ConversionPlan) -> ScanWork:
    """Return the model of a plan's scan."""
    catalogue = load_catalogue()
    costs, clock_hz = catalogue.firmware_costs[plan.board], catalogue.boards[plan.board].clock_hz
    return ScanWork(plan.layout, costs, plan.layout.spi_hz, clock_hz, paces(plan))


def tick_times(plan: ConversionPlan, scans: QuietScans) -> tuple[dict[str, float], dict[str, float]]:
    """Return measured and predicted microseconds of every tick that differs in what is due."""
    work = scan_work(plan)
    measured = {runs: shape["total"]["mean"] / CYCLES_PER_US for runs, shape in scans.items()}
    predicted = {runs: work.tick_us({each.group for each in due_runs(plan, runs)}) for runs in scans}
    return measured, predicted


def reading_times(plan: ConversionPlan, scans: QuietScans) -> tuple[dict[str, float], dict[str, float]]:
    """Return measured and predicted microseconds of what is read as one, alone between two marks, by its first group.

    That is so where the next one that is due is of the same source and follows without a register in between.
    """
    together, work = read_together(plan), scan_work(plan)
    measured, predicted = dict[str, float](), dict[str, float]()
    for numbers, shape in scans.items():
        due = [together[plan.layout.runs[int(number) - 1]] for number in numbers.split()]
        for read, following, spread in zip(due, due[1:], shape["runs"], strict=False):
            last, first = read[-1], following[0]
            if first.first_lane == last.first_lane + last.lane_count and first.source is last.source:
                measured[read[0].group] = spread["mean"] / CYCLES_PER_US
                predicted[read[0].group] = work.together_us(read)
    return measured, predicted
