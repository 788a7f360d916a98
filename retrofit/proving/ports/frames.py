"""What a port worker and the program that keeps it say to each other, through a pipe."""

from __future__ import annotations

from collections.abc import Iterator
from enum import IntEnum
from struct import Struct
from typing import NamedTuple

_HEAD = Struct("<BQI")


class Kind(IntEnum):
    """What a frame says; `number` is a time in microseconds, or a count."""

    OPENED = 1
    FAILED = 2
    MESSAGE = 3
    DROPPED = 4


class Frame(NamedTuple):
    """One thing said."""

    kind: int
    number: int
    content: bytes


def packed(kind: Kind, number: int = 0, content: bytes = b"") -> bytes:
    """Return a frame as bytes."""
    return _HEAD.pack(kind, number, len(content)) + content


class Unpacker:
    """Puts frames together from pieces of any length."""

    def __init__(self) -> None:
        self._rest = b""

    def take(self, piece: bytes) -> Iterator[Frame]:
        """Take a piece; yield the frames that are whole by now."""
        content = self._rest + piece
        at = 0
        while len(content) - at >= _HEAD.size:
            kind, number, length = _HEAD.unpack_from(content, at)
            end = at + _HEAD.size + length
            if end > len(content):
                break
            yield Frame(kind, number, content[at + _HEAD.size : end])
            at = end
        self._rest = content[at:]
