"""The scan in which every contact changes, worked out by hand with round costs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.catalogue.parts import FirmwareCosts
from retrofit.scan.crowded import CrowdedScan, crowded_scan
from tests.scan.requests import group
from tests.scan.test_busy import CLOCK_HZ, COSTS, layout_of

CROWDED = replace(COSTS, lane_changed=100, lane_counted=300, main_loop_jitter=50)
EVERY_TICK = {"keys": (0, 0), "tabs": (0, 0)}


def test_each_lane_costs_its_change_less_what_the_chain_idles() -> None:
    """Of a byte of 16 + 4 cycles 5 are idle behind a look of 15: a change costs 95, one that is counted 295."""
    layout = layout_of(group("keys", 16), group("tabs", 8))
    found = crowded_scan(layout, CROWDED, CLOCK_HZ, 10_000, EVERY_TICK, {"tabs"})
    quiet_us = 1000 + 1 + 10 + (100 + 35 + 2 * 20 + 15)
    assert found == CrowdedScan(quiet_us + 2 * 95 + 295, 0.0)


def test_a_scan_that_outlasts_its_tick_makes_the_next_one_late() -> None:
    """What it is too long by, and what the work between scans may add, is how late the next sample comes."""
    layout = layout_of(group("keys", 16), group("tabs", 8))
    found = crowded_scan(layout, CROWDED, CLOCK_HZ, 1250, EVERY_TICK, {"tabs"})
    assert found is not None
    assert found.late_us == found.scan_us + 50 - 1250 > 50


def test_only_what_is_due_together_changes_together() -> None:
    """Groups in different ticks do not add up; the worst tick counts."""
    layout = layout_of(group("keys", 16, "pins"), group("tabs", 8, "pins", speed=2))
    apart = crowded_scan(layout, CROWDED, CLOCK_HZ, 10_000, {"keys": (1, 0), "tabs": (1, 1)}, set())
    together = crowded_scan(layout, CROWDED, CLOCK_HZ, 10_000, EVERY_TICK, set())
    assert apart is not None
    assert together is not None
    # Two ports of keys: 20 + 50 + 100 each; the port of tabs is passed by for 3 cycles.
    assert apart.scan_us == 1000 + 2 + 10 + 5 + 2 * 170 + 3
    assert together.scan_us == 1000 + 1 + 10 + 5 + 3 * 170


@pytest.mark.parametrize("costs", [replace(CROWDED, lane_changed=0), replace(CROWDED, lane_counted=0)])
def test_costs_that_were_not_measured_stay_unknown(costs: FirmwareCosts) -> None:
    """Nothing is said of a board of which a cost is missing."""
    assert crowded_scan(layout_of(group("keys", 8)), costs, CLOCK_HZ, 250, {"keys": (0, 0)}, set()) is None
