"""Where live messages come from: a system MIDI port, a serial line, a recording, or a stand-in console."""

from __future__ import annotations

from dataclasses import dataclass
from types import TracebackType
from typing import Protocol, Self


@dataclass(frozen=True, slots=True)
class Losses:
    """What did not become a message, counted since the source was opened.

    `stray_bytes` belonged to no message, `cut_messages` were begun and not ended, and `dropped` came faster than they
    were taken away.
    """

    stray_bytes: int = 0
    cut_messages: int = 0
    dropped: int = 0


class Source(Protocol):
    """Something that can be listened to; it is open inside a `with` block."""

    @property
    def words(self) -> str:
        """What the source is called, as a person would say it."""

    @property
    def away(self) -> bool:
        """Whether the device has gone; it is picked up again by name when it comes back."""

    @property
    def ended(self) -> bool:
        """Whether nothing more will ever come, as at the end of a recording."""

    @property
    def losses(self) -> Losses:
        """What has been lost so far."""

    def poll(self) -> list[tuple[int, bytes]]:
        """Return what has come since the last call, oldest first, without waiting.

        Each is a time in microseconds of one clock that never goes back, and one whole MIDI message.
        """

    def __enter__(self) -> Self:
        """Open the source."""

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close it."""
