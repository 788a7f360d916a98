"""Speaking to a MIDI port of the system: tones that say how a proof went, test messages, a stand-in's console."""

from __future__ import annotations

from collections.abc import Iterable
from types import TracebackType
from typing import Self

from retrofit.proving.ports.checking import is_whole
from retrofit.proving.ports.frames import Kind, packed
from retrofit.proving.ports.kept import KeptPort
from retrofit.proving.ports.system import Looker


class MidiOutput:
    """One MIDI output, by name, or as a `virtual` port that other programs find by that name.

    Nothing waits: what cannot be sent because the port is away or takes nothing is counted in `unsent`.
    """

    def __init__(self, wish: str, looker: Looker | None = None, virtual: bool = False) -> None:
        self.sent = 0
        self.unsent = 0
        self._wish = wish
        self._looker = looker
        self._virtual = virtual
        self._kept: KeptPort | None = None

    @property
    def words(self) -> str:
        """The port's name."""
        return self._wish if self._kept is None else self._kept.port.name

    @property
    def away(self) -> bool:
        """Whether the port is not there now."""
        return self._kept is None or self._kept.away

    def send(self, *messages: bytes) -> bool:
        """Send whole messages in this order, all or none; return whether they are on their way.

        Raises `ValueError` for bytes that are not one message.
        """
        if not all(map(is_whole, messages)):
            raise ValueError(f"not one MIDI message each: {[message.hex(' ') for message in messages]}")
        given = self._kept is not None and self._given(self._kept, messages)
        self.sent += len(messages) if given else 0
        self.unsent += 0 if given else len(messages)
        return given

    @staticmethod
    def _given(kept: KeptPort, messages: Iterable[bytes]) -> bool:
        kept.tend()
        return kept.tell(b"".join(packed(Kind.MESSAGE, 0, message) for message in messages))

    def tend(self) -> None:
        """See how the port stands; to be called now and then while nothing is sent."""
        if self._kept is not None:
            self._kept.tend()

    def close(self) -> None:
        """Send what is waiting, and close the port."""
        if self._kept is not None:
            self._kept.close()

    def __enter__(self) -> Self:
        """Open the port.  Raises `PortError`."""
        self._kept = KeptPort("out", self._wish, self._looker, self._virtual)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the port."""
        self.close()
