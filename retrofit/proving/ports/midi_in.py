"""Listening to a MIDI port of the system."""

from __future__ import annotations

from types import TracebackType
from typing import Self

from retrofit.proving.ports.checking import Checker
from retrofit.proving.ports.frames import Frame
from retrofit.proving.ports.kept import KeptPort
from retrofit.proving.ports.system import Looker
from retrofit.proving.sources import Losses


class MidiInput:
    """A source: the messages of one MIDI port, by name.

    `wish` is a port's name or an unmistakable part of it; as a `virtual` port it is the name under which other
    programs find us, where the system allows that.  Entering raises `PortError` when there is no such port.
    """

    def __init__(self, wish: str, looker: Looker | None = None, virtual: bool = False) -> None:
        self._wish = wish
        self._looker = looker
        self._virtual = virtual
        self._kept: KeptPort | None = None
        self._checker = Checker()

    @property
    def words(self) -> str:
        """The port's name."""
        return self._wish if self._kept is None else self._kept.port.name

    @property
    def away(self) -> bool:
        """Whether the port is not there now."""
        return self._kept is None or self._kept.away

    @property
    def ended(self) -> bool:
        """Never: a port that is away may come back."""
        return False

    @property
    def losses(self) -> Losses:
        """What did not become a message."""
        dropped = 0 if self._kept is None else self._kept.dropped
        return Losses(self._checker.stray_bytes, self._checker.cut_messages, dropped)

    def poll(self) -> list[tuple[int, bytes]]:
        """Return what has come since the last call."""
        return [] if self._kept is None else self._checked(self._kept.tend())

    def close(self) -> list[tuple[int, bytes]]:
        """Close the port; return what had come and not been taken."""
        return [] if self._kept is None else self._checked(self._kept.close())

    def _checked(self, frames: list[Frame]) -> list[tuple[int, bytes]]:
        return [(frame.number, message) for frame in frames for message in self._checker.whole(frame.content)]

    def __enter__(self) -> Self:
        """Open the port.  Raises `PortError`."""
        self._kept = KeptPort("in", self._wish, self._looker, self._virtual)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the port."""
        self.close()
