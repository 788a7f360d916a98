"""Choosing the tick and how often each group is sampled.

The tick is the smallest of 125 µs times a power of two in whose half the worst scan fits, so that the other half is
free for bouncing contacts, the queue and the wire.  Keys are sampled every tick, everything else at the slowest period
of at most 2 ms, spread over the ticks so that the work does not coincide.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from retrofit.catalogue.parts import FirmwareCosts
from retrofit.scan.busy import Busy, ScanWork, scan_cycles
from retrofit.scan.layout import ScanLayout

TICKS_US = (125, 250, 500, 1000, 2000)
SLOWEST_US = 2000
BUSY_SHARE = 0.5
"""The part of a tick that the worst quiet scan may take."""
KEYS = 0
"""The speed class that is sampled every tick."""


@dataclass(frozen=True, slots=True)
class Pacing:
    """How a layout is sampled, and why.

    `fits` is False when the worst scan takes more than half of the tick; the pacing is then that of the slowest
    allowed tick, so that its figures can be shown.
    """

    tick_us: int
    divider_log2: dict[str, int]
    phase: dict[str, int]
    busy: Busy
    fits: bool
    reason: str

    def period_us(self, group: str) -> int:
        """Return the sampling period of a group."""
        return self.tick_us << self.divider_log2[group]


def choose_periods(
    layout: ScanLayout,
    costs: FirmwareCosts,
    clock_hz: int,
    speed: Mapping[str, int],
    *,
    wished_tick_us: int | None = None,
    least_tick_us: int = TICKS_US[0],
) -> Pacing:
    """Return the pace of a layout whose chain is clocked at `layout.spi_hz`.

    `speed` maps each group to its class, 0 for keys.  `least_tick_us` is a floor that somebody else has a reason for,
    such as a long debounce whose samples must be counted.  Raises `ValueError` for a wished tick that is none of
    `TICKS_US`.
    """
    if wished_tick_us is not None and wished_tick_us not in TICKS_US:
        raise ValueError(f"a tick of {wished_tick_us} µs found, allowed are {', '.join(map(str, TICKS_US))} µs")
    ticks = [wished_tick_us] if wished_tick_us else [t for t in TICKS_US if t >= least_tick_us] or [TICKS_US[-1]]
    for tick_us in ticks:
        pacing = _pace(layout, costs, clock_hz, speed, tick_us)
        if pacing.fits:
            break
    return pacing


def _pace(layout: ScanLayout, costs: FirmwareCosts, clock_hz: int, speed: Mapping[str, int], tick_us: int) -> Pacing:
    slow_log2 = (SLOWEST_US // tick_us).bit_length() - 1
    groups = dict.fromkeys(run.group for run in layout.runs)
    dividers = {group: 0 if speed[group] == KEYS else slow_log2 for group in groups}
    work = ScanWork(layout, costs, layout.spi_hz, clock_hz)
    phases = _spread_phases(dividers, 1 << slow_log2, work)
    busy = scan_cycles(layout, costs, layout.spi_hz, clock_hz, dividers, phases)
    fits = busy.total_us <= BUSY_SHARE * tick_us
    return Pacing(tick_us, dividers, phases, busy, fits, _reason(busy.total_us, tick_us, fits))


def _spread_phases(dividers: Mapping[str, int], slots: int, work: ScanWork) -> dict[str, int]:
    """Put each slow group, longest first, into the tick that is then the shortest."""
    phases = {group: 0 for group, divider in dividers.items() if not divider}
    due: list[set[str]] = [set(phases) for _ in range(slots)]
    cost = work.per_group_us()
    for group in sorted(dividers.keys() - phases.keys(), key=lambda g: (-cost[g], g)):
        slot = min(range(slots), key=lambda s: work.tick_us(due[s] | {group}))
        due[slot].add(group)
        phases[group] = slot
    return phases


def _reason(busy_us: float, tick_us: int, fits: bool) -> str:
    share = 100 * busy_us / tick_us
    if fits:
        return f"the worst scan takes {busy_us:.0f} µs, {share:.0f} % of a tick of {tick_us} µs"
    return (
        f"the worst scan takes {busy_us:.0f} µs, {share:.0f} % of a tick of {tick_us} µs; allowed is half of the tick; "
        "clock the chain faster, shorten its cable, or use a second board"
    )
