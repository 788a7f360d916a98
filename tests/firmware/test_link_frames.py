"""Frames of the board link: the check against published values and two libraries, the stuffing against a third."""

from __future__ import annotations

import binascii
import ctypes

from cobs import cobs
from crccheck.crc import Crc16Ibm3740
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.firmware.console import Console
from tests.firmware.linked import CRC_START, sealed

BODY_MAX = 61
HEAD_BYTES = 3
contents = st.binary(min_size=HEAD_BYTES, max_size=BODY_MAX - 2) | st.lists(
    st.sampled_from((0, 1, 255)), min_size=HEAD_BYTES, max_size=BODY_MAX - 2
).map(bytes)


def core_check(console: Console, content: bytes) -> int:
    """The core's check of some bytes."""
    crc16_step = console.core.crc16_step
    crc16_step.restype = ctypes.c_uint16
    crc = CRC_START
    for byte in content:
        crc = crc16_step(ctypes.c_uint16(crc), ctypes.c_uint8(byte))
    return crc


def takes(console: Console, line: bytes) -> list[bytes]:
    """Feed bytes of the line to the core; the bodies that it found whole, checks included."""
    body = (ctypes.c_uint8 * BODY_MAX).in_dll(console.core, "frame_body")
    size = ctypes.c_uint8.in_dll(console.core, "frame_size")
    found = []
    for byte in line:
        if console.core.frame_take(ctypes.c_uint8(byte)) & 0xFF:
            found.append(bytes(body[: size.value]))
            console.core.frame_await()
    return found


def gives(console: Console, content: bytes) -> bytes:
    """The bytes that the core puts on the line for a body without its check."""
    body = (ctypes.c_uint8 * BODY_MAX).in_dll(console.core, "frame_body")
    body[: len(content)] = list(content)
    console.core.frame_answer(ctypes.c_uint8(len(content)))
    calls = 0
    while not console.core.frame_seal() & 0xFF:
        calls += 1
        assert calls < BODY_MAX, "sealing must come to an end"
    line = bytearray()
    while not line or line[-1] != 0:
        line.append(console.core.frame_next() & 0xFF)
        assert len(line) <= BODY_MAX + 2, "a frame must come to an end"
    console.core.frame_await()
    return bytes(line)


def test_the_check_of_123456789_is_the_published_one(sample: Console) -> None:
    """0x29B1 is the check value of CRC-16/IBM-3740 in the catalogue of parametrised CRC algorithms (reveng)."""
    assert core_check(sample, b"123456789") == 0x29B1


@given(content=st.binary(max_size=80))
def test_the_check_is_that_of_two_libraries(sample_library: Console, content: bytes) -> None:
    """Any bytes have the check that the standard library and the crccheck package give them."""
    found = core_check(sample_library, content)
    assert found == binascii.crc_hqx(content, CRC_START) == Crc16Ibm3740.calc(content)


@given(content=contents)
def test_what_the_cobs_package_writes_is_taken_in(sample_library: Console, content: bytes) -> None:
    """A sealed body stuffed by the cobs package arrives as it was."""
    sample_library.core.frames_begin()
    body = sealed(content)
    assert takes(sample_library, cobs.encode(body) + b"\0") == [body]


@given(content=contents)
def test_what_is_given_out_the_cobs_package_reads(sample_library: Console, content: bytes) -> None:
    """A body that the core seals and stuffs is read back by the cobs package, and the line has one zero, the last."""
    sample_library.core.frames_begin()
    line = gives(sample_library, content)
    assert line.count(0) == 1
    assert line == cobs.encode(sealed(content)) + b"\0"


@settings(max_examples=300)
@given(line=st.binary(max_size=200))
def test_only_whole_frames_are_taken(sample_library: Console, line: bytes) -> None:
    """Of any bytes, those frames are taken that the cobs package decodes to a right check; the others are counted."""
    sample_library.core.frames_begin()
    whole, bad = [], 0
    for stuffed in (line + b"\0").split(b"\0")[:-1]:
        try:
            body = cobs.decode(stuffed)
        except cobs.DecodeError:
            body = b""
        if HEAD_BYTES + 2 <= len(body) <= BODY_MAX and body == sealed(body[:-2]):
            whole.append(body)
        else:
            bad += stuffed != b""
    assert takes(sample_library, line + b"\0") == whole
    assert ctypes.c_uint16.in_dll(sample_library.core, "frames_bad").value == bad


@given(content=contents, place=st.integers(min_value=0), flip=st.integers(min_value=1, max_value=255))
def test_a_changed_byte_is_always_noticed(sample_library: Console, content: bytes, place: int, flip: int) -> None:
    """One changed byte of a body is a burst of at most 8 bits, which a check of 16 bits never misses."""
    sample_library.core.frames_begin()
    body = bytearray(sealed(content))
    body[place % len(body)] ^= flip
    assert takes(sample_library, cobs.encode(bytes(body)) + b"\0") == []


def test_a_frame_that_is_too_long_is_counted_and_the_next_is_taken(sample: Console) -> None:
    """A body of one byte more than allowed, with a right check, is thrown away as far as its zero."""
    sample.core.frames_begin()
    good = sealed(b"\x01\x02\x03")
    long = sealed(bytes(range(1, BODY_MAX)))
    assert len(long) == BODY_MAX + 1
    assert takes(sample, cobs.encode(long) + b"\0" + cobs.encode(good) + b"\0") == [good]
    assert ctypes.c_uint16.in_dll(sample.core, "frames_bad").value == 1


def test_zeros_alone_are_no_frames(sample: Console) -> None:
    """A computer may send zeros to bring the board to the beginning of a frame: nothing is counted."""
    sample.core.frames_begin()
    assert takes(sample, b"\0" * 20) == []
    assert ctypes.c_uint16.in_dll(sample.core, "frames_bad").value == 0
