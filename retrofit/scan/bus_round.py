"""The round of the two-wire bus: how long reading every expander takes, and how often a round can be begun.

A round begins behind the scan of a tick and reads the expanders one after the other, each with a repeated start:
device address, register, device address again, and a byte of each port.  The controller takes its steps between ticks
alone, so that the bus never delays a scan; a scan delays the bus instead.  What a round has brought is looked at in the
tick in which the next round begins.  Bits of a read: NXP UM10204, write and read formats.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, inf

from retrofit.catalogue.parts import FirmwareCosts
from retrofit.scan.busy import Busy
from retrofit.scan.layout import ScanLayout, Source

BYTE_BITS = 9
"""Eight bits and their acknowledgement."""
READ_BITS, READ_STEPS = 2 + 5 * BYTE_BITS, 7
"""Of one expander: start, three bytes with a repeated start among them, a byte of each port."""
SAMPLE_BITS, SAMPLE_STEPS = (2 + 3 * BYTE_BITS, 2 + 4 * BYTE_BITS), (5, 6)
"""Of these, what lies before each port is sampled."""
ROUND_SHARE = 0.75
"""The part of the time between scans that a round may take: the rest is left to bouncing contacts and the wire."""
MOST_TICKS_LOG2 = 6
"""The firmware counts periods of up to 64 ticks."""


@dataclass(frozen=True, slots=True)
class BusRound:
    """The times of a round in microseconds, without the scans that interrupt it.

    `sample_us` maps expander and port to the time from the beginning of the round to the sampling of that port.
    """

    round_us: float
    sample_us: dict[tuple[str, int], float]

    def period_log2(self, tick_us: float, scan_us: float) -> int:
        """Return the least n such that a round fits into 2**n ticks, when each holds a scan of `scan_us`.

        The scan takes at most half of a tick where a pace fits at all.
        """
        spare_us = ROUND_SHARE * (tick_us - min(scan_us, tick_us / 2))
        return min(MOST_TICKS_LOG2, (ceil(self.round_us / spare_us) - 1).bit_length())


def bus_round(layout: ScanLayout, costs: FirmwareCosts, clock_hz: int) -> BusRound | None:
    """Return the round of a layout; None when nothing is on the bus."""
    if not layout.expanders or layout.bus_hz is None:
        return None
    step_us, bit_us = costs.bus_step * 1e6 / clock_hz, 1e6 / layout.bus_hz
    device_us = READ_BITS * bit_us + READ_STEPS * step_us
    samples = {
        (str(number), port): place * device_us + SAMPLE_BITS[port] * bit_us + SAMPLE_STEPS[port] * step_us
        for place, number in enumerate(layout.expanders)
        for port in (0, 1)
    }
    return BusRound(len(layout.expanders) * device_us + bit_us, samples)


def with_bus(busy: Busy, layout: ScanLayout, bus: BusRound, tick_us: float, period_us: float) -> Busy:
    """Return the times of a pace with those of the expanders' lanes put right.

    A lane of an expander is looked at a whole period behind the beginning of the round that sampled it.  Its sampling
    wanders by the scans that the round may meet before; the later it is, the shorter the wait for the look.
    """
    until, jitter = list(busy.until_lane_us), list(busy.sample_jitter_us)
    for lane in layout.lanes:
        if lane.source is Source.EXPANDER:
            sampled_us = bus.sample_us[lane.where, lane.place]
            waits_us = max(0.0, period_us - sampled_us)
            late_us = min(waits_us, busy.total_us * _scans_met(sampled_us, tick_us - busy.total_us))
            until[lane.index] += waits_us - late_us
            jitter[lane.index] = late_us
    return replace(busy, until_lane_us=tuple(until), sample_jitter_us=tuple(jitter))


def _scans_met(work_us: float, spare_us: float) -> float:
    """Return how many scans interrupt work that is done in the spare time of ticks."""
    return ceil(work_us / spare_us) - 1 if spare_us > 0 else inf
