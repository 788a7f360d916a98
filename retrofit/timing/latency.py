"""Worst-case latency: from the last bounce edge of a contact to the end of its last byte on an idle wire."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from retrofit.timing.wire import BYTE_US_MAX


@dataclass(frozen=True, slots=True)
class EventPath:
    """What lies between a contact and the wire, worst case in microseconds.

    `until_lane_us` runs from the sampling instant to the moment at which the contact's lane is handled, `handling_us`
    from there to the start of the first byte; `jitter_us` is how much later than its due time a sample may be taken.
    `message_us` is the message on an idle wire: three bytes by DIN, unless said otherwise.
    """

    period_us: float
    until_lane_us: float
    handling_us: float
    jitter_us: float = 0.0
    message_us: float = 3 * BYTE_US_MAX

    @property
    def after_sample_us(self) -> float:
        """From the sample that decides, at its due time, to the end of the last byte."""
        return self.jitter_us + self.until_lane_us + self.handling_us + self.message_us


def press_latency_us_max(debounce: Debounce, path: EventPath) -> float:
    """Return the longest time from a settled press to the end of its message.

    The contact is one that had been up for at least the hold-off of a first-edge debounce; a quicker restrike is
    `after_quick_change_us_max`.
    """
    samples = 1 if debounce.family is DebounceFamily.FIRST_EDGE else debounce.press
    return samples * path.period_us + path.after_sample_us


def release_latency_us_max(debounce: Debounce, path: EventPath) -> float:
    """Return the longest time from a settled release to the end of its message, a quick tap included.

    With a first-edge debounce a tap that ends within the hold-off of its press is reported when that runs out.
    """
    if debounce.family is DebounceFamily.FIRST_EDGE:
        return after_quick_change_us_max(debounce, path)
    return debounce.release * path.period_us + path.after_sample_us


def held_release_latency_us_max(debounce: Debounce, path: EventPath) -> float:
    """Return the longest release latency of a contact that had been down for at least the hold-off."""
    if debounce.family is DebounceFamily.FIRST_EDGE:
        return path.period_us + path.after_sample_us
    return release_latency_us_max(debounce, path)


def after_quick_change_us_max(debounce: Debounce, path: EventPath) -> float:
    """Return the longest first-edge latency of a change that comes within the hold-off of the change before it."""
    return max(1, debounce.hold) * path.period_us + path.after_sample_us


def shoe_latency_us_max(conversion_cycle_us: float, interval_us: float, handling_us: float, bits: int = 7) -> float:
    """Return the longest time from a shoe's position to the end of its message on an idle wire.

    A movement just after a reading waits a whole cycle over the converter's channels, then the whole interval that
    limits the rate of messages.  More than 7 bits go out as two controllers.
    """
    message_bytes = 3 if bits <= 7 else 6
    return conversion_cycle_us + interval_us + handling_us + message_bytes * BYTE_US_MAX


def stepped_shoe_latency_us_max(stage_latency_us: float, interval_us: float) -> float:
    """Return the longest latency of a shoe read by stages: a stage's own latency and the interval between messages."""
    return stage_latency_us + interval_us
