"""Which numbers are taken on which channel while messages are being given out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence

from retrofit.midi.uses import Use
from retrofit.survey.wishes import MessageKind

_Numbers = defaultdict[tuple[int, MessageKind], set[int]]
"""Numbers by channel and kind: most candidates are met taken, and a number alone is looked up fast."""


class Ledger:
    """Numbers taken so far, and the unused channels on which a full channel is continued.

    `reserved` is what is recorded of any point: a point without a record never takes it by itself.
    """

    def __init__(self, spare: Iterable[int], reserved: frozenset[Use] = frozenset()) -> None:
        self._spare = list(spare)
        self._reserved = _Numbers(set)
        for use in reserved:
            self._reserved[use.channel, use.kind].add(use.number)
        self._reserved_channels = frozenset(use.channel for use in reserved)
        self._taken = _Numbers(set)
        self._continued: dict[tuple[int, MessageKind], list[int]] = {}

    def take(self, use: Use) -> None:
        """Mark a number as taken; taking it twice is the caller's wish."""
        self._taken[use.channel, use.kind].add(use.number)

    def fresh_channel(self, *, recorded: bool = False) -> int | None:
        """Return an unused channel, which then is used, or None when there is none.

        It is the first of all for what is recorded already; for anything new, those that hold a record come last.
        """
        if not self._spare:
            return None
        chosen = self._spare[0] if recorded else first_unrecorded(self._spare, self._reserved_channels)
        self._spare.remove(chosen)
        return chosen

    def is_free(self, use: Use, *, recorded: bool) -> bool:
        """Return whether a point may take a number by itself; `recorded` tells that the point has a record."""
        return use.number not in self._barred(use.channel, use.kind, recorded=recorded)

    def place(
        self, channel: int, kind: MessageKind, candidates: Iterable[int], *, recorded: bool = False
    ) -> Use | None:
        """Take the first candidate that is free on the channel; None when all are taken."""
        barred = self._barred(channel, kind, recorded=recorded)
        number = next((number for number in candidates if number not in barred), None)
        if number is None:
            return None
        use = Use(channel, kind, number)
        self.take(use)
        return use

    def _barred(self, channel: int, kind: MessageKind, *, recorded: bool) -> set[int]:
        """Return the numbers of a kind that a point may not take on a channel."""
        taken = self._taken[channel, kind]
        return taken if recorded else taken | self._reserved[channel, kind]

    def continue_on(self, home: int, kind: MessageKind, channel: int) -> None:
        """Let a channel that holds recorded messages of another one continue it."""
        channels = self._continued.setdefault((home, kind), [home])
        if channel not in channels:
            channels.append(channel)

    def place_or_continue(
        self, home: int, kind: MessageKind, candidates: tuple[int, ...], *, recorded: bool = False
    ) -> Use | None:
        """Take a free candidate on the home channel, else on a channel that continues it; None when none is left."""
        channels = self._continued.setdefault((home, kind), [home])
        for channel in channels:
            use = self.place(channel, kind, candidates, recorded=recorded)
            if use is not None:
                return use
        fresh = self.fresh_channel(recorded=recorded) if candidates else None
        if fresh is None:
            return None
        channels.append(fresh)
        return self.place(fresh, kind, candidates, recorded=recorded)


def first_unrecorded(channels: Sequence[int], recorded: Collection[int]) -> int:
    """Return the first channel on which nothing is recorded, else the first of all; there must be one."""
    return next((channel for channel in channels if channel not in recorded), channels[0])
