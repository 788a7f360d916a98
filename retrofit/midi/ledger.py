"""Which numbers are taken on which channel while messages are being given out."""

from __future__ import annotations

from collections.abc import Iterable

from retrofit.midi.uses import Use
from retrofit.survey.wishes import MessageKind


class Ledger:
    """Numbers taken so far, and the unused channels on which a full channel is continued."""

    def __init__(self, spare: Iterable[int]) -> None:
        self._spare = list(spare)
        self._taken: set[Use] = set()
        self._continued: dict[tuple[int, MessageKind], list[int]] = {}

    def take(self, use: Use) -> None:
        """Mark a number as taken; taking it twice is the caller's wish."""
        self._taken.add(use)

    def fresh_channel(self) -> int | None:
        """Return the next unused channel, which then is used, or None when there is none."""
        return self._spare.pop(0) if self._spare else None

    def place(self, channel: int, kind: MessageKind, candidates: Iterable[int]) -> Use | None:
        """Take the first candidate that is free on the channel; None when all are taken."""
        for number in candidates:
            use = Use(channel, kind, number)
            if use not in self._taken:
                self.take(use)
                return use
        return None

    def place_or_continue(self, home: int, kind: MessageKind, candidates: tuple[int, ...]) -> Use | None:
        """Take a free candidate on the home channel, else on a channel that continues it; None when none is left."""
        channels = self._continued.setdefault((home, kind), [home])
        for channel in channels:
            use = self.place(channel, kind, candidates)
            if use is not None:
                return use
        fresh = self.fresh_channel() if candidates else None
        if fresh is None:
            return None
        channels.append(fresh)
        return self.place(fresh, kind, candidates)
