"""Frames of the board link: bytes on the wire to bodies that arrived whole, and back.

On the wire a frame is the body in Consistent Overhead Byte Stuffing (Cheshire and Baker, IEEE/ACM Transactions on
Networking 7(2), 1999), which holds no zero, and then a zero.  A body is version, kind, sequence, payload and a
checksum over all of these, low byte first: CRC-16/IBM-3740 (polynomial 0x1021, start 0xFFFF).
"""

from __future__ import annotations

import binascii
from collections.abc import Iterator
from dataclasses import dataclass, field

from cobs import cobs

from retrofit.firmware.link.words import BODY_BYTES_MAX, PAYLOAD_BYTES_MAX, PROTOCOL

_HEAD_BYTES = 3
_CRC_BYTES = 2
_CRC_START = 0xFFFF
FRAME_BYTES_MAX = BODY_BYTES_MAX + 1
"""Stuffing adds one byte to a body of less than 254."""


@dataclass(frozen=True, slots=True)
class Body:
    """What a frame says: in which version, what kind, in answer to which question, with what payload."""

    kind: int
    sequence: int
    payload: bytes = b""
    version: int = PROTOCOL


def checksum(content: bytes) -> int:
    """Return the CRC-16/IBM-3740 of `content`."""
    return binascii.crc_hqx(content, _CRC_START)


def frame_of(body: Body) -> bytes:
    """Return the bytes that carry a body over the wire, the zero at the end included."""
    if len(body.payload) > PAYLOAD_BYTES_MAX:
        raise ValueError(f"a payload of {len(body.payload)} bytes; a frame carries {PAYLOAD_BYTES_MAX}")
    content = bytes((body.version, body.kind, body.sequence)) + body.payload
    return bytes(cobs.encode(content + checksum(content).to_bytes(_CRC_BYTES, "little"))) + b"\0"


@dataclass(slots=True)
class FrameReader:
    """Takes bytes as they come, in any pieces, and yields the bodies that arrived whole.

    `noise_bytes` counts the bytes that were part of no whole frame; what is heard between zeros is kept no longer than
    a frame can be.
    """

    noise_bytes: int = 0
    _kept: bytearray = field(default_factory=bytearray)
    _too_long: bool = False

    def take(self, content: bytes) -> Iterator[Body]:
        """Yield each body that `content` completes."""
        for byte in content:
            if byte:
                self._keep(byte)
            elif (body := self._close()) is not None:
                yield body

    def _keep(self, byte: int) -> None:
        if self._too_long or len(self._kept) == FRAME_BYTES_MAX:
            self._too_long = True
            self.noise_bytes += 1
            return
        self._kept.append(byte)

    def _close(self) -> Body | None:
        kept, too_long = bytes(self._kept), self._too_long
        self._kept.clear()
        self._too_long = False
        body = None if too_long else body_of(kept)
        self.noise_bytes += len(kept) if body is None else 0
        return body


def body_of(stuffed: bytes) -> Body | None:
    """Return the body of what stood between two zeros; None when it is no whole body with a good checksum."""
    try:
        content = bytes(cobs.decode(stuffed))
    except cobs.DecodeError:
        return None
    if len(content) < _HEAD_BYTES + _CRC_BYTES or checksum(content[:-_CRC_BYTES]) != _crc_at_end(content):
        return None
    version, kind, sequence = content[:_HEAD_BYTES]
    return Body(kind, sequence, content[_HEAD_BYTES:-_CRC_BYTES], version)


def _crc_at_end(content: bytes) -> int:
    return int.from_bytes(content[-_CRC_BYTES:], "little")
