"""The time of a run: that of this machine, or that of a recording, which passes as fast as it is read."""

from __future__ import annotations

from typing import Protocol


class Clock(Protocol):
    """A clock that never goes back, in microseconds; it is the one that the source's messages are timed by."""

    def now_us(self) -> int:
        """Return the time."""

    def heard(self, time_us: int) -> None:
        """Learn of the time of a message; a clock that goes by itself has no use for it."""

    def wait(self) -> None:
        """Let a short time pass, so that a loop which listens does not take the whole machine."""


class HeardClock:
    """The clock of a recording: it stands at the newest message, and each wait brings it a step on."""

    def __init__(self, step_us: int = 10_000) -> None:
        self._step_us = step_us
        self._now_us = 0

    def now_us(self) -> int:
        """Return the time."""
        return self._now_us

    def heard(self, time_us: int) -> None:
        """Go on to the time of a message."""
        self._now_us = max(self._now_us, time_us)

    def wait(self) -> None:
        """Pass one step."""
        self._now_us += self._step_us
