"""Frames against the catalogue of checksums, the stuffing library, and everything that a line does to bytes."""

from __future__ import annotations

import pytest
from cobs import cobs
from crccheck.crc import Crc16Ibm3740
from hypothesis import given
from hypothesis import strategies as st

from retrofit.firmware.link.frames import FRAME_BYTES_MAX, Body, FrameReader, body_of, checksum, frame_of
from retrofit.firmware.link.words import BODY_BYTES_MAX, PAYLOAD_BYTES_MAX

BYTE = st.integers(0, 255)
BODIES = st.builds(Body, BYTE, BYTE, st.binary(max_size=PAYLOAD_BYTES_MAX), BYTE)


def test_the_checksum_is_that_of_the_catalogue() -> None:
    """CRC-16/IBM-3740 of "123456789" is 0x29B1 (catalogue of parametrised CRC algorithms)."""
    assert checksum(b"123456789") == 0x29B1


@given(st.binary(max_size=80))
def test_the_checksum_is_that_of_a_general_library(content: bytes) -> None:
    """The crccheck package agrees on any bytes."""
    assert checksum(content) == Crc16Ibm3740.calc(content)


@given(BODIES)
def test_a_frame_is_a_stuffed_body_and_a_zero(body: Body) -> None:
    """The cobs package takes a frame apart into its parts; no byte but the last is zero."""
    frame = frame_of(body)
    assert frame.index(0) == len(frame) - 1 <= FRAME_BYTES_MAX
    content = cobs.decode(frame[:-1])
    assert content[:-2] == bytes((body.version, body.kind, body.sequence)) + body.payload
    assert int.from_bytes(content[-2:], "little") == Crc16Ibm3740.calc(content[:-2])


@given(st.lists(BODIES, max_size=4), st.data())
def test_frames_are_read_in_any_pieces_with_noise_between(bodies: list[Body], data: st.DataObject) -> None:
    """However the bytes are cut and whatever stands between frames, each whole frame is read once and in order."""
    junk = (
        st.binary(max_size=20).map(lambda content: content + b"\0").filter(lambda content: not _holds_a_frame(content))
    )
    wire = b"".join(data.draw(junk) + frame_of(body) for body in bodies)
    reader = FrameReader()
    heard: list[Body] = []
    while wire:
        size = data.draw(st.integers(1, len(wire)))
        heard += reader.take(wire[:size])
        wire = wire[size:]
    assert heard == bodies


def _holds_a_frame(content: bytes) -> bool:
    return any(body_of(part) is not None for part in content.split(b"\0"))


@given(BODIES, st.integers(0, FRAME_BYTES_MAX - 1), st.integers(1, 255))
def test_a_damaged_frame_is_noise(body: Body, place: int, change: int) -> None:
    """A frame with one byte changed is not taken for another frame: the checksum finds every burst of 16 bits."""
    frame = bytearray(frame_of(body)[:-1])
    frame[place % len(frame)] ^= change
    assert body_of(bytes(frame)) is None


def test_what_never_ends_is_not_kept() -> None:
    """A megabyte without a zero is counted as noise; the reader holds no more than a frame, and reads the next one."""
    reader = FrameReader()
    assert list(reader.take(b"\x55" * 1_000_000)) == []
    assert len(reader._kept) <= FRAME_BYTES_MAX
    body = Body(1, 2, b"x")
    assert list(reader.take(b"\0" + frame_of(body))) == [body]
    assert reader.noise_bytes == 1_000_000


def test_a_payload_too_long_for_a_frame_is_refused() -> None:
    """Nothing longer than a frame can carry is ever sent."""
    assert len(frame_of(Body(1, 1, bytes(PAYLOAD_BYTES_MAX)))) == BODY_BYTES_MAX + 2
    with pytest.raises(ValueError, match="a frame carries"):
        frame_of(Body(1, 1, bytes(PAYLOAD_BYTES_MAX + 1)))
