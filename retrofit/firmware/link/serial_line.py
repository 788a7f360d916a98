"""The serial port: the one place that knows the library for it, which is loaded when a port is opened or listed."""

from __future__ import annotations

import contextlib
import os
import stat
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from retrofit.firmware.link.errors import PortGoneError, PortNotOpenedError

BAUD = 38_400
"""On a controller's own serial line; a USB serial port takes any."""
WAIT_S = 0.05
"""Longest that one look for bytes takes."""
WRITE_WAIT_S = 2.0
_PLUG = "look at its plug and lead, and start the command again"
_LIST = "retrofit board lists the ports that there are"


@dataclass(frozen=True, slots=True)
class PortSeen:
    """A serial port of this computer: the name to open it by, and what the system says of it."""

    name: str
    description: str


def ports_seen() -> tuple[PortSeen, ...]:
    """Return the serial ports of this computer, in order of their names."""
    from serial.tools import list_ports  # noqa: PLC0415  # loaded by those commands alone that need ports

    return tuple(PortSeen(port.device, _described(port.description)) for port in sorted(list_ports.comports()))


def _described(words: str | None) -> str:
    return "" if words in (None, "n/a") else str(words)


def refuse_no_port(name: str) -> None:
    """Raise `PortNotOpenedError` when there is no such port, as far as that is known without opening it."""
    if sys.platform == "win32":
        return  # ports are no files there
    try:
        is_port = stat.S_ISCHR(Path(name).stat().st_mode)
    except (OSError, ValueError) as error:
        raise PortNotOpenedError(f"the port cannot be opened ({_reason(error)})", _LIST) from error
    if not is_port:
        raise PortNotOpenedError("it is no serial port", _LIST)


class SerialLine:
    """An open serial port."""

    def __init__(self, name: str) -> None:
        """Open the port of that name.  Raises `PortNotOpenedError` when it is not there, or somebody else has it."""
        self._port = _opened(name)

    def give(self, content: bytes) -> None:
        """Send bytes.  Raises `PortGoneError` when the port is no more, or takes nothing."""
        with self._gone():
            self._port.write(content)

    def take(self) -> bytes:
        """Return the bytes that have come, after waiting at most `WAIT_S` for the first of them."""
        with self._gone():
            first: bytes = self._port.read(1)
            return first + self._port.read(self._port.in_waiting) if first else b""

    def close(self) -> None:
        """Give the port back; one that is gone is no error by now."""
        with contextlib.suppress(OSError):
            self._port.close()

    @contextlib.contextmanager
    def _gone(self) -> Iterator[None]:
        import serial  # noqa: PLC0415  # loaded when the port was opened

        try:
            yield
        except serial.SerialTimeoutException as error:
            raise PortGoneError("the port takes no bytes any more", _PLUG) from error
        except (serial.SerialException, OSError, TypeError) as error:
            # A port that another thread or the system has closed shows as a missing descriptor.
            raise PortGoneError("the port went away", _PLUG) from error


def _opened(name: str) -> Any:
    import serial  # noqa: PLC0415  # loaded by those commands alone that need ports

    port = serial.Serial(baudrate=BAUD, timeout=WAIT_S, write_timeout=WRITE_WAIT_S, exclusive=_exclusive())
    port.port = name
    if sys.platform == "win32":
        port.dtr = False  # some boards take the rise of this line for a reset
    try:
        port.open()
    except (serial.SerialException, OSError, ValueError) as error:
        raise PortNotOpenedError(f"the port cannot be opened ({_reason(error)})", _LIST) from error
    _leave_raised(port)
    return port


def _exclusive() -> bool | None:
    """Keep a second program off the port where the system can: each would take half of the answers."""
    return None if sys.platform == "win32" else True


def _reason(error: Exception) -> str:
    number = getattr(error, "errno", None)
    if isinstance(number, int) and number > 0:
        return os.strerror(number)
    return str(error) or type(error).__name__


def _leave_raised(port: Any) -> None:
    """Keep the port's ready line raised after closing: the next opening is then no edge, and resets no board.

    On systems where that line can be left alone by opening in the first place there is nothing to do.
    """
    if sys.platform == "win32":
        return
    import termios  # noqa: PLC0415  # not on every system

    with contextlib.suppress(termios.error, OSError):
        settings = termios.tcgetattr(port.fileno())
        settings[2] &= ~termios.HUPCL
        termios.tcsetattr(port.fileno(), termios.TCSANOW, settings)
