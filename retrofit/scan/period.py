"""Choosing the tick and how often each group is sampled.

The tick is the smallest of 125 µs times a power of two in whose half the worst scan fits, so that the other half is
free for bouncing contacts, the queue and the wire.  Keys are sampled every tick, everything else at the slowest period
of at most 2 ms, spread over the ticks so that the work does not coincide.  What is read by expanders is sampled as
often as the bus can go round: all of it in the same ticks, whatever it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass

from retrofit.catalogue.parts import FirmwareCosts
from retrofit.scan.bus_round import BusRound, bus_round, with_bus
from retrofit.scan.busy import Busy, ScanWork, scan_cycles
from retrofit.scan.layout import ScanLayout, Source
from retrofit.scan.listen_load import listen_load, with_listening

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
    allowed tick, so that its figures can be shown.  `bus_log2` is the logarithm of the ticks of one round of the bus.
    """

    tick_us: int
    divider_log2: dict[str, int]
    phase: dict[str, int]
    busy: Busy
    fits: bool
    reason: str
    bus_log2: int = 0
    bus: BusRound | None = None

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
    work = ScanWork(layout, costs, layout.spi_hz, clock_hz)
    bus = bus_round(layout, costs, clock_hz)
    bus_log2 = 0 if bus is None else bus.period_log2(tick_us, work.tick_us({run.group for run in layout.runs}))
    slow_log2 = (SLOWEST_US // tick_us).bit_length() - 1
    on_bus = {run.group for run in layout.runs if run.source is Source.EXPANDER}
    groups = dict.fromkeys(run.group for run in layout.runs)
    dividers = {group: 0 if speed[group] == KEYS else slow_log2 for group in groups} | dict.fromkeys(on_bus, bus_log2)
    phases = _spread_phases(dividers, {g for g in groups if speed[g] == KEYS} | on_bus, work)
    busy = scan_cycles(layout, costs, layout.spi_hz, clock_hz, dividers, phases)
    load = listen_load(layout.listener, costs, clock_hz)
    if load is not None:
        busy = with_listening(busy, load)
    fits = busy.total_us <= BUSY_SHARE * tick_us
    if bus is not None:
        busy = with_bus(busy, layout, bus, tick_us, tick_us << bus_log2)
    return Pacing(tick_us, dividers, phases, busy, fits, _reason(busy.total_us, tick_us, fits), bus_log2, bus)


def _spread_phases(dividers: Mapping[str, int], fixed: Set[str], work: ScanWork) -> dict[str, int]:
    """Put each slow group, longest first, into the tick that is then the shortest; those `fixed` are due at 0."""
    phases = dict.fromkeys((group for group in dividers if group in fixed), 0)
    ticks = 1 << max(dividers.values(), default=0)
    due = [{group for group in phases if tick % (1 << dividers[group]) == 0} for tick in range(ticks)]
    cost = work.per_group_us()
    for group in sorted(dividers.keys() - phases.keys(), key=lambda g: (-cost[g], g)):
        every = 1 << dividers[group]
        longest = [max(work.tick_us(each | {group}) for each in due[phase::every]) for phase in range(every)]
        phases[group] = longest.index(min(longest))
        for each in due[phases[group] :: every]:
            each.add(group)
    return phases


def _reason(busy_us: float, tick_us: int, fits: bool) -> str:
    share = 100 * busy_us / tick_us
    if fits:
        return f"the worst scan takes {busy_us:.0f} µs, {share:.0f} % of a tick of {tick_us} µs"
    return (
        f"the worst scan takes {busy_us:.0f} µs, {share:.0f} % of a tick of {tick_us} µs; allowed is half of the tick; "
        "clock the chain faster, shorten its cable, or use a second board"
    )
