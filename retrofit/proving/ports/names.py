"""Choosing a port by its name, and knowing it again when it comes back under another number."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from retrofit.proving.ports.errors import PortChoiceError

_NUMBERS = re.compile(r"[ ]\d+(:\d+)?$")


class PortName(NamedTuple):
    """A MIDI port as the system calls it, and the back end that offers it."""

    back_end: str
    name: str

    @property
    def lasting(self) -> str:
        """The name without the numbers that some systems put behind it, and change with every plugging in."""
        return _NUMBERS.sub("", self.name)


def chosen(wish: str, ports: Iterable[PortName]) -> PortName:
    """Return the port that is wished for: the exact name wins, then the only one that contains the words.

    Capitals do not matter in a part of a name.  Raises `PortChoiceError` when no port or more than one fits.
    """
    there = tuple(ports)
    parts = tuple(port for port in there if wish.casefold() in port.name.casefold())
    for fitting in (
        tuple(port for port in there if port.name == wish),
        tuple(port for port in there if port.lasting == wish),
        parts,
    ):
        if len(fitting) == 1:
            return fitting[0]
        if fitting:
            raise PortChoiceError(f"{len(fitting)} ports fit the name {wish!r}", _names(fitting))
    raise PortChoiceError(f"no port fits the name {wish!r}", _names(there))


def come_back(gone: PortName, ports: Iterable[PortName]) -> PortName | None:
    """Return the port under which a device is there: its very name, or the only one that differs in numbers alone."""
    same = [port for port in ports if port.back_end == gone.back_end and port.lasting == gone.lasting]
    if gone in same:
        return gone
    return same[0] if len(same) == 1 else None


def _names(ports: Iterable[PortName]) -> tuple[str, ...]:
    return tuple(port.name for port in ports)
