"""What one group of keys does as a whole: floods of its keys within an instant, and contacts that are played alone."""

from __future__ import annotations

HANDS_MOST = 10
"""Keys that two hands strike in one instant: a finger each (common practice, no source)."""


class GroupTally:
    """Counts of one group.

    A burst is a row of messages, each of which follows the one before within `burst_us`; it counts as a flicker when
    more keys speak in it than hands can strike, and at least half of the group.  `on` is how many contacts are on,
    `begun` how many strokes there have been.
    """

    __slots__ = ("begun", "burst", "burst_us", "flicker_least", "flickers", "largest_burst", "last_us", "on")

    def __init__(self, keys: int, burst_us: int) -> None:
        self.burst_us = burst_us
        self.flicker_least = max(HANDS_MOST + 1, (keys + 1) // 2)
        self.flickers = 0
        self.largest_burst = 0
        self.on = 0
        self.begun = 0
        self.last_us: int | None = None
        self.burst: set[int] = set()

    def speak(self, key: int, time_us: int) -> None:
        """Take one message of a key."""
        burst = self.burst
        if self.last_us is None or time_us - self.last_us > self.burst_us:
            burst.clear()
        self.last_us = time_us
        if key in burst:
            return
        burst.add(key)
        size = len(burst)
        self.largest_burst = max(self.largest_burst, size)
        if size == self.flicker_least:
            self.flickers += 1
