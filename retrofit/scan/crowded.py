"""The longest scan there is: every contact of the console changes between two of its samples.

No music asks for it; a plug that is pulled does.  Such a scan may outlast its tick, and the samples
behind it come late.
"""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass

from retrofit.catalogue.parts import FirmwareCosts
from retrofit.scan.busy import ScanWork
from retrofit.scan.layout import Run, ScanLayout, Source


@dataclass(frozen=True, slots=True)
class CrowdedScan:
    """How long the scan lasts, and by how much the next sample then comes late; 0 when it does not."""

    scan_us: float
    late_us: float


def crowded_scan(
    layout: ScanLayout,
    costs: FirmwareCosts,
    clock_hz: int,
    tick_us: int,
    paces: Mapping[str, tuple[int, int]],
    counted: Set[str],
) -> CrowdedScan | None:
    """Return the longest scan of a layout; None for a board whose costs of a change were not measured.

    `paces` maps each group to the logarithm of its divider and its phase; `counted` are the groups whose debounce
    counts, which takes longer.
    """
    if not costs.lane_changed or not costs.lane_counted:
        return None
    work = ScanWork(layout, costs, layout.spi_hz, clock_hz, paces)
    cycle_us = 1e6 / clock_hz
    changed = {run: _changed_cycles(run, work, costs, counted) for run in layout.runs}
    due_sets = _due_sets(paces)
    scan_us = max(
        work.tick_us(due) + cycle_us * sum(changed[run] for run in layout.runs if run.group in due) for due in due_sets
    )
    over_us = scan_us + cycle_us * costs.main_loop_jitter - tick_us
    return CrowdedScan(scan_us, over_us if scan_us > tick_us else 0.0)


def _due_sets(paces: Mapping[str, tuple[int, int]]) -> list[set[str]]:
    ticks = range(1 << max((divider for divider, _ in paces.values()), default=0))
    return [{group for group, (divider, phase) in paces.items() if tick % (1 << divider) == phase} for tick in ticks]


def _changed_cycles(run: Run, work: ScanWork, costs: FirmwareCosts, counted: Set[str]) -> float:
    """Cycles that a run takes on top when contacts of all its lanes change; a slow chain shifts on meanwhile."""
    lane = costs.lane_counted if run.group in counted else costs.lane_changed
    idle = work.chain_idle_cycles if run.source is Source.CHAIN else 0.0
    return run.lane_count * max(0.0, lane - idle)
