"""Playing a recording again as if it were live."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from types import TracebackType
from typing import Self

from retrofit.proving.sources import Losses

AT_ONCE = 4096
"""Messages given in one go when a recording is played as fast as it will."""


class Replay:
    """A source: a recording, in its own time, or `fast`, as quickly as it is asked for.

    `messages` are microseconds since its beginning, never going back, and whole messages; `words` is what it is called.
    In its own time a message carries the time of the steady clock at which it falls due; fast, its time in the
    recording.
    """

    def __init__(
        self,
        words: str,
        messages: Iterable[tuple[int, bytes]],
        fast: bool = False,
        now: Callable[[], int] = lambda: time.monotonic_ns() // 1000,
    ) -> None:
        self.words = words
        self._messages = messages
        self._fast = fast
        self._now = now
        self._begun_us = 0
        self._left: Iterator[tuple[int, bytes]] = iter(())
        self._next: tuple[int, bytes] | None = None

    @property
    def away(self) -> bool:
        """Never: a recording stays."""
        return False

    @property
    def ended(self) -> bool:
        """Whether the whole recording was played."""
        return self._next is None

    @property
    def losses(self) -> Losses:
        """Nothing is lost of a recording."""
        return Losses()

    def poll(self) -> list[tuple[int, bytes]]:
        """Return what has fallen due since the last call."""
        due_us = self._now() - self._begun_us
        found: list[tuple[int, bytes]] = []
        while self._next is not None and (len(found) < AT_ONCE if self._fast else self._next[0] <= due_us):
            at_us, message = self._next
            found.append((at_us + self._begun_us, message))
            self._next = next(self._left, None)
        return found

    def __enter__(self) -> Self:
        """Begin at the beginning."""
        self._begun_us = 0 if self._fast else self._now()
        self._left = iter(self._messages)
        self._next = next(self._left, None)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Play no more."""
        self._next = None
