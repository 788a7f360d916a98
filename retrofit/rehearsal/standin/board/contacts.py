"""The debounce of every contact, without looking at each sample: between two changes all samples are alike.

The families are those of `retrofit.timing.samples`, in the same words.  Whoever changes a level says so with the tick
of the first sample that sees it; what is to be decided later is said back as the tick of that sample.
"""

from __future__ import annotations

from typing import Protocol

from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce


class Settled(Protocol):
    """One contact's debounce: `state` is what it reports, `level` what was last sampled, both True for on."""

    state: bool
    level: bool

    def look(self, tick: int, level: bool) -> int | None:
        """Take the level of a sample, which may differ from the one before.

        Return the tick at which the state changes if the level stays, perhaps the present one, or None.
        """

    def decide(self, tick: int) -> None:
        """Let the state change, as was foretold for this tick."""


class SettledFirstEdge:
    """First edge with hold-off."""

    __slots__ = ("_compared_from", "_hold", "level", "state")

    def __init__(self, period: int, debounce: Debounce) -> None:
        self.state = self.level = False
        self._hold = max(1, debounce.hold) * period
        self._compared_from = 0

    def look(self, tick: int, level: bool) -> int | None:
        """A level that differs is believed at once, or when the hold-off has run out."""
        self.level = level
        return None if level == self.state else max(tick, self._compared_from)

    def decide(self, tick: int) -> None:
        """Change, and begin a hold-off."""
        self.state = not self.state
        self._compared_from = tick + self._hold


class SettledCounted:
    """Agreeing samples in a row."""

    __slots__ = ("_period", "_press", "_release", "level", "state")

    def __init__(self, period: int, debounce: Debounce) -> None:
        self.state = self.level = False
        self._period = period
        consecutive = debounce.family is DebounceFamily.CONSECUTIVE
        self._press = debounce.press
        self._release = debounce.press if consecutive else debounce.release

    def look(self, tick: int, level: bool) -> int | None:
        """A level that differs, and did not before, is believed at the last of as many samples as are wanted."""
        self.level = level
        if level == self.state:
            return None
        return tick + ((self._press if level else self._release) - 1) * self._period

    def decide(self, tick: int) -> None:  # noqa: ARG002  # counting begins with the next level that differs
        """Change."""
        self.state = not self.state


class SettledIntegrator:
    """A lead that differing samples add to and others take from."""

    __slots__ = ("_at", "_lead", "_period", "_press", "_release", "level", "state")

    def __init__(self, period: int, debounce: Debounce) -> None:
        self.state = self.level = False
        self._period = period
        self._press, self._release = debounce.press, debounce.release
        self._lead = 0
        self._at = 0

    def look(self, tick: int, level: bool) -> int | None:
        """Reckon the lead of the samples before this one, and foretell when it is reached."""
        samples = (tick - self._at) // self._period
        self._lead = max(0, self._lead + (samples if self.level != self.state else -samples))
        self._at, self.level = tick, level
        if level == self.state:
            return None
        wanted = self._release if self.state else self._press
        return tick + (wanted - self._lead - 1) * self._period

    def decide(self, tick: int) -> None:
        """Change, and begin the lead anew behind this sample."""
        self.state = not self.state
        self._lead = 0
        self._at = tick + self._period


_FAMILIES: dict[DebounceFamily, type[SettledFirstEdge | SettledCounted | SettledIntegrator]] = {
    DebounceFamily.FIRST_EDGE: SettledFirstEdge,
    DebounceFamily.CONSECUTIVE: SettledCounted,
    DebounceFamily.ASYMMETRIC: SettledCounted,
    DebounceFamily.INTEGRATOR: SettledIntegrator,
}


def settled(period: int, debounce: Debounce) -> Settled:
    """Return the debounce of one contact of a group that is sampled every `period` ticks."""
    return _FAMILIES[debounce.family](period, debounce)
