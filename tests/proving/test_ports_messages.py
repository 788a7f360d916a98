"""Frames between processes, and what counts as one message."""

from __future__ import annotations

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.proving.parser import EXCLUSIVE_LENGTH_MAX
from retrofit.proving.ports.checking import Checker, is_whole
from retrofit.proving.ports.frames import Frame, Kind, Unpacker, packed

FRAME = st.builds(Frame, st.sampled_from(Kind), st.integers(0, 2**64 - 1), st.binary(max_size=40))
FRAMES = st.lists(FRAME, max_size=8)


@given(FRAMES, st.lists(st.integers(1, 30), min_size=1))
def test_frames_are_put_together_from_any_pieces(frames: list[Frame], sizes: list[int]) -> None:
    """However a pipe cuts what was written, the same frames come out in the same order."""
    content = b"".join(packed(Kind(frame.kind), frame.number, frame.content) for frame in frames)
    unpacker, at, turn = Unpacker(), 0, 0
    found: list[Frame] = []
    while at < len(content):
        size = sizes[turn % len(sizes)]
        found += unpacker.take(content[at : at + size])
        at, turn = at + size, turn + 1
    assert found == frames


def mido_takes(message: bytes) -> bool:
    """Return whether mido makes exactly one message of these bytes."""
    try:
        return bytes(mido.Message.from_bytes(message).bytes()) == message
    except (ValueError, LookupError):
        return False


@given(st.integers(0x80, 0xFF), st.binary(max_size=4))
def test_one_message_is_what_mido_takes_for_one(status: int, rest: bytes) -> None:
    """Length and data bytes of every status agree with mido's encoder, which knows no undefined status either."""
    message = bytes((status, *rest))
    assert is_whole(message) == mido_takes(message)


def test_a_system_exclusive_message_has_an_end_and_a_limit() -> None:
    """Without its end byte, or longer than what is kept, it is not whole."""
    longest = bytes((0xF0, *([1] * (EXCLUSIVE_LENGTH_MAX - 2)), 0xF7))
    assert is_whole(longest)
    assert not is_whole(longest[:-1])
    assert not is_whole(bytes((0xF0, 1)) + longest[1:])
    assert not is_whole(b"")


@pytest.mark.parametrize(
    ("content", "messages", "stray", "cut"),
    [
        ("90 40 40", ["90 40 40"], 0, 0),
        ("90 40 40 41 40", ["90 40 40", "90 41 40"], 0, 0),
        ("40 41", [], 2, 0),
        ("90 40", [], 0, 1),
        ("F0 01 02", [], 0, 1),
        ("90 F8 40 40", ["F8", "90 40 40"], 0, 0),
        ("", [], 0, 0),
    ],
)
def test_what_is_not_one_message_is_taken_apart_and_counted(
    content: str, messages: list[str], stray: int, cut: int
) -> None:
    """Another program may write anything to a port: whole messages in it are heard, the rest is counted."""
    checker = Checker()
    assert checker.whole(bytes.fromhex(content)) == [bytes.fromhex(message) for message in messages]
    assert (checker.stray_bytes, checker.cut_messages) == (stray, cut)
