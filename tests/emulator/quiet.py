"""What the scans of a console at rest take, beside what its plan says."""

from __future__ import annotations

from typing import Any

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.model import ConversionPlan
from retrofit.scan.busy import ScanWork
from retrofit.scan.layout import Run
from tests.emulator.demos import Console
from tests.emulator.harness import CYCLES_PER_US, run

QuietScans = dict[str, Any]
"""Spreads of times in cycles, by the numbers (from 1) of the runs that were due."""


def quiet_scans(console: Console) -> QuietScans:
    """Run a console at rest for a second and return its quiet scans."""
    scans = run(console.stage.scenario(console.image.hex, console.listening_us / 1000 + 1000)).scans
    quiet: QuietScans = scans["quiet"]
    return quiet


def due_runs(plan: ConversionPlan, numbers: str) -> list[Run]:
    """Return the runs that the marks of a scan name."""
    return [plan.layout.runs[int(number) - 1] for number in numbers.split()]


def tick_times(plan: ConversionPlan, scans: QuietScans) -> tuple[dict[str, float], dict[str, float]]:
    """Return measured and predicted microseconds of every tick that differs in what is due."""
    catalogue = load_catalogue()
    clock_hz = catalogue.boards[plan.board].clock_hz
    work = ScanWork(plan.layout, catalogue.firmware_costs[plan.board], plan.layout.spi_hz, clock_hz)
    measured = {runs: shape["total"]["mean"] / CYCLES_PER_US for runs, shape in scans.items()}
    predicted = {runs: work.tick_us({each.group for each in due_runs(plan, runs)}) for runs in scans}
    return measured, predicted


def group_times(plan: ConversionPlan, scans: QuietScans) -> dict[str, float]:
    """Return measured microseconds of the groups whose reading alone lies between two marks.

    That is so where the next run that is due is of the same source and follows without a register in between.
    """
    measured: dict[str, float] = {}
    for runs, shape in scans.items():
        due = due_runs(plan, runs)
        for read, following, spread in zip(due, due[1:], shape["runs"], strict=False):
            if following.first_lane == read.first_lane + read.lane_count and following.source is read.source:
                measured[read.group] = spread["mean"] / CYCLES_PER_US
    return measured
