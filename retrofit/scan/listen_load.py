"""What listening to the organ's scanner costs: an interrupt for each edge of its strobes, whenever they come.

The scanner keeps its own time.  At worst a stretch of our work begins just as a strobe does, and meets as many more as
fall into it; each makes it longer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor, inf

from retrofit.catalogue.parts import FirmwareCosts
from retrofit.scan.busy import Busy
from retrofit.scan.layout import ListenLayout

_ROUNDS_OF_STRETCHING = 50
"""More than any stretch within a tick needs before it meets no further strobe."""


@dataclass(frozen=True, slots=True)
class ListenLoad:
    """The least time between the beginnings of two strobes, and what both interrupts of one take, in microseconds."""

    spacing_us: float
    strobe_us: float

    @property
    def share(self) -> float:
        """The part of the controller's time that the interrupts take."""
        return self.strobe_us / self.spacing_us

    def stretched_us(self, work_us: float) -> float:
        """Return how long work takes at most that the interrupts fall into; infinite where they leave no time."""
        if self.share >= 1:
            return inf
        taken_us = work_us + self.strobe_us
        for _ in range(_ROUNDS_OF_STRETCHING):
            met = floor(taken_us / self.spacing_us) + 1
            longer_us = work_us + met * self.strobe_us
            if longer_us == taken_us:
                break
            taken_us = longer_us
        return taken_us


def listen_load(layout: ListenLayout | None, costs: FirmwareCosts, clock_hz: int) -> ListenLoad | None:
    """Return the load of a layout; None when nothing is listened to."""
    if layout is None:
        return None
    cycles = costs.listen_read + len(layout.return_ports) * costs.listen_port + costs.listen_pass
    spacing_us = layout.round_us_least / len(layout.strobe_pins)
    return ListenLoad(spacing_us, cycles * 1e6 / clock_hz + layout.settle_us)


def with_listening(busy: Busy, load: ListenLoad) -> Busy:
    """Return busy times as the interrupts stretch them; a sampling instant may wait for one."""
    return replace(
        busy,
        total_us=load.stretched_us(busy.total_us),
        until_lane_us=tuple(map(load.stretched_us, busy.until_lane_us)),
        sample_jitter_us=tuple(load.stretched_us(jitter_us) for jitter_us in busy.sample_jitter_us),
    )
