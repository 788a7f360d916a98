"""When a strobed line may be read: the strobe's width, the wait for our input, and how late our sample may come."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.settle import wait_us

WINDOW = "what is left of a strobe after our input has settled and been sampled"


@dataclass(frozen=True, slots=True)
class Strobes:
    """The strobes of a scan that is there already, as measured; every None is unknown.

    `period_us` is from one strobe of a row to the next, `duty` the share of it while the row is strobed.  `idle_volts`
    and `strobed_volts` are a return line's levels without and with its key, `source_ohms` the line's source resistance.
    """

    period_us: Span | None
    duty: Span | None
    idle_volts: Span | None
    strobed_volts: Span | None
    source_ohms: Span | None

    @property
    def least_width_us(self) -> float | None:
        """The shortest strobe: least period times least duty."""
        return None if self.period_us is None or self.duty is None else self.period_us.least * self.duty.least


def width_us(period_us: float, duty: float) -> float:
    """Return how long a row is strobed: T·duty."""
    return period_us * duty


def judge_window(strobes: Strobes, settle_us: float | None, sample_late_us: float | None) -> Judged:
    """Return what is left of the shortest strobe after the wait for our input and the sample.

    `settle_us` is the greatest time of our input to its threshold, `sample_late_us` how much later than meant the
    sample may come; both None when unknown.
    """
    width = strobes.least_width_us
    unknown = {
        "the period and duty of the strobes": width,
        "how fast our input settles": settle_us,
        "how much later than meant the sample may come": sample_late_us,
    }
    if width is None or settle_us is None or sample_late_us is None:
        return Judged(WINDOW, None, missing=" and ".join(words for words, known in unknown.items() if known is None))
    wait = wait_us(settle_us)
    corner = f"strobe {width:.3g} µs, waiting {wait:.3g} µs, the sample up to {sample_late_us:g} µs late"
    return Judged(WINDOW, Result(width - wait - sample_late_us, 0.0, "µs", at_least=True, corner=corner))
