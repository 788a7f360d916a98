"""Every contact of a console at once, in the emulator, against what the plan says of it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from retrofit.plan.timing_report import timing_report
from tests.emulator.bench import COUNTED, WIRED_WELL
from tests.emulator.bench_console import Bench, bench_console
from tests.emulator.bench_scans import run_soundly, whole_change_scans
from tests.emulator.harness import CYCLES_PER_US

pytestmark = pytest.mark.emulator

BENCHES = [WIRED_WELL, replace(COUNTED, spi_hz=4_000_000)]


@pytest.mark.parametrize("bench", BENCHES, ids=["first edge", "counted"])
def test_the_longest_scan_is_the_predicted_one(bench: Bench) -> None:
    """All 320 contacts changing at once take no longer than the plan says, and at least 85 % of it."""
    predicted_us = bench_console(bench).plan.figures["crowded_scan_us"]
    assert 0.85 * predicted_us <= max(whole_change_scans(bench, 1)) / CYCLES_PER_US <= predicted_us


def test_the_sample_behind_it_is_as_late_as_the_plan_says() -> None:
    """The load behind the crowded scan comes late by at most what the plan says, and at least 60 % of it."""
    console = bench_console(WIRED_WELL)
    at_us = console.listening_us + 10 * console.plan.tick_us
    events = [event for name in console.stage.contacts for event in console.stage.events(name, [(at_us, True)])]
    scenario = console.stage.scenario(console.image.hex, at_us / 1000 + 5, events)
    loads = run_soundly(replace(scenario, keep_loads=True)).chain["loadCycles"]
    late_us = max(later - load for load, later in pairwise(loads)) / CYCLES_PER_US - console.plan.tick_us
    said_us = console.plan.figures["crowded_late_us"]
    assert 0.6 * said_us <= late_us <= said_us
    assert f"up to {said_us / 1000:.2f} ms late" in timing_report(console.plan).crowded
