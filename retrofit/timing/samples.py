"""The debounce families, sample by sample: the model against which every guarantee and the firmware are checked."""

from __future__ import annotations


class FirstEdge:
    """First edge with hold-off.

    A change is reported at the first differing sample; the next `hold` - 1 samples are ignored, and sample `hold`
    after the event is compared again.
    """

    def __init__(self, hold: int, state: bool = False) -> None:
        if hold < 1:
            raise ValueError(f"a hold-off of {hold} samples found, allowed 1 or more")
        self.hold = hold
        self.state = state
        self._ignored = 0

    def sample(self, level: bool) -> bool | None:
        """Take one sample; return the new state when it changes, else None."""
        if self._ignored:
            self._ignored -= 1
            return None
        if level == self.state:
            return None
        self.state = level
        self._ignored = self.hold - 1
        return level


class Counted:
    """Agreeing samples in a row: `press` of them for on, `release` for off; the two are equal for plain consecutive."""

    def __init__(self, press: int, release: int, state: bool = False) -> None:
        if press < 1 or release < 1:
            raise ValueError(f"counts of {press} and {release} samples found, allowed 1 or more")
        self.press = press
        self.release = release
        self.state = state
        self._differing = 0

    def sample(self, level: bool) -> bool | None:
        """Take one sample; return the new state when it changes, else None."""
        if level == self.state:
            self._differing = 0
            return None
        self._differing += 1
        if self._differing < (self.press if level else self.release):
            return None
        self.state = level
        self._differing = 0
        return level


class Integrator:
    """Up by 1 for a closed sample, down by 1 for an open one; reports on and off at the ends of its range.

    The range is 0 to `press` while off and 0 to `release` while on: an event leaves it at the end where it happened.
    """

    def __init__(self, press: int, release: int, state: bool = False) -> None:
        if press < 1 or release < 1:
            raise ValueError(f"limits of {press} and {release} samples found, allowed 1 or more")
        self.press = press
        self.release = release
        self.state = state
        self._height = release if state else 0

    def sample(self, level: bool) -> bool | None:
        """Take one sample; return the new state when it changes, else None."""
        top = self.release if self.state else self.press
        self._height = max(0, min(top, self._height + (1 if level else -1)))
        if self._height != (0 if self.state else top):
            return None
        self.state = not self.state
        self._height = self.release if self.state else 0
        return self.state
