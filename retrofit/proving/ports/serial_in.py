"""Listening to MIDI as it stands on the wire: a serial line at 31,250 baud."""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from types import TracebackType
from typing import Any, Self

from retrofit.proving.parser import MidiParser
from retrofit.proving.ports.errors import PortError
from retrofit.proving.sources import Losses

BAUD = 31_250
"""Of the MIDI wire: 31.25 kbaud, 8 data bits, no parity, one stop bit (MIDI 1.0 Detailed Specification, hardware)."""
BYTE_US = 320
"""Ten bits at that rate."""
HELD_MAX = 1_000_000
"""Messages held for a caller that does not take them: five minutes of a full wire.  More is dropped and counted."""
AGAIN_S = 0.5
"""Time between two attempts to open a port that has gone."""
_WAIT_S = 0.05


class SerialInput:
    """A source: the messages on a serial line, read by a thread so that each byte gets its time at once."""

    def __init__(self, device: str, held_max: int = HELD_MAX) -> None:
        self._device = device
        self._held_max = held_max
        self._heard: deque[tuple[int, bytes]] = deque()
        self._timed = TimedParser()
        self._dropped = 0
        self._away = True
        self._done = threading.Event()
        self._thread: threading.Thread | None = None

    @property
    def words(self) -> str:
        """The device's name."""
        return self._device

    @property
    def away(self) -> bool:
        """Whether the device is not there now."""
        return self._away

    @property
    def ended(self) -> bool:
        """Never: a device that is away may come back."""
        return False

    @property
    def losses(self) -> Losses:
        """What did not become a message."""
        return Losses(self._timed.stray_bytes, self._timed.cut_messages, self._dropped)

    def poll(self) -> list[tuple[int, bytes]]:
        """Return what has come since the last call."""
        return [self._heard.popleft() for _ in range(len(self._heard))]

    def __enter__(self) -> Self:
        """Open the line.  Raises `PortError` when it is not there, or somebody else has it."""
        port = _opened(self._device)
        self._away = False
        self._thread = threading.Thread(target=self._run, args=(port,), daemon=True)
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the line."""
        self._done.set()
        if self._thread is not None:
            self._thread.join()

    def _run(self, port: Any) -> None:
        """Read until told to stop; when the device goes, try again and again to open it."""
        while True:
            self._read_until_gone(port)
            self._away = not self._done.is_set()
            self._timed.reset()
            with suppress(OSError):
                port.close()
            again = self._opened_again()
            if again is None:
                return
            port = again
            self._away = False

    def _read_until_gone(self, port: Any) -> None:
        # A port that the system takes away shows as a failed read, and in some versions as a missing descriptor.
        with suppress(OSError, TypeError):
            while not self._done.is_set():
                if first := port.read(1):
                    self._take(first + port.read(port.in_waiting))

    def _opened_again(self) -> Any:
        while not self._done.wait(AGAIN_S):
            with suppress(PortError):
                return _opened(self._device)
        return None

    def _take(self, piece: bytes) -> None:
        for timed in self._timed.take(piece):
            if len(self._heard) >= self._held_max:
                self._dropped += 1
            else:
                self._heard.append(timed)


class TimedParser:
    """Gives each message on the wire the time at which its last byte was whole; it never goes back.

    What is read in one piece has come one byte after the other, the last of them now.
    """

    def __init__(self, now: Callable[[], int] = lambda: time.monotonic_ns() // 1000) -> None:
        self._now = now
        self._last_us = 0
        self._parser = MidiParser()
        self._stray_before = 0
        self._cut_before = 0

    @property
    def stray_bytes(self) -> int:
        """Bytes that belonged to no message."""
        return self._stray_before + self._parser.stray_bytes

    @property
    def cut_messages(self) -> int:
        """Messages that were begun and not ended."""
        return self._cut_before + self._parser.cut_messages

    def take(self, piece: bytes) -> list[tuple[int, bytes]]:
        """Take what was read just now; return the messages that it completes."""
        found: list[tuple[int, bytes]] = []
        now = self._now()
        for at, byte in enumerate(piece):
            for message in self._parser.feed((byte,)):
                self._last_us = max(self._last_us, now - BYTE_US * (len(piece) - 1 - at))
                found.append((self._last_us, message))
        return found

    def reset(self) -> None:
        """Forget what is under way, and the running status: the line was cut."""
        self._parser.feed((0xF6,))  # a message without data ends, and so counts, what is under way
        self._stray_before, self._cut_before = self.stray_bytes, self.cut_messages
        self._parser = MidiParser()


def _opened(device: str) -> Any:
    import serial  # noqa: PLC0415  # loaded by those commands alone that need ports

    try:
        return serial.Serial(device, BAUD, timeout=_WAIT_S)
    except (OSError, ValueError) as error:  # the library's own errors are kinds of OSError
        raise PortError(
            f"{device} cannot be opened ({error.strerror if isinstance(error, OSError) and error.strerror else error})",
            "retrofit ports lists the ports that there are",
        ) from error
