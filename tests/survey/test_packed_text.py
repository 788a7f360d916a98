"""Packed text: read back whole, without three exclamation marks in a row, and refused when it was damaged."""

from __future__ import annotations

import zlib
from contextlib import suppress

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from retrofit.survey.packed_text import REFUSED_RUN, TEXT_BYTES_MAX, PackingError, keyed, pack_text, unpack_text

TEXT = st.text(st.characters(exclude_categories=["Cs"]))


@given(TEXT)
@example("")
@example("!!!" * 1000)
def test_text_reads_back_and_holds_no_refused_run(text: str) -> None:
    """Whatever is packed comes back, and neither the bytes nor their ends make a run of exclamation marks."""
    packed = pack_text(text)
    assert unpack_text(packed) == text
    assert REFUSED_RUN not in b"!" + packed + b"!" or packed == b""
    assert b"!" not in (packed[:1], packed[-1:])


@given(st.binary(max_size=60))
@example(b"!!!")
@example(b"\x20\x20\x20!!!")
@example(b"abc!")
def test_the_key_is_the_lowest_that_will_do(content: bytes) -> None:
    """Undoing the key gives the content, and every lower key leaves a run or an exclamation mark at an end."""
    packed = keyed(content)
    assert bytes(byte ^ packed[0] for byte in packed[1:]) == content
    for key in range(packed[0]):
        lower = bytes((key, *(byte ^ key for byte in content)))
        assert REFUSED_RUN in lower or lower[0] == ord("!") or lower[-1] == ord("!")


def test_content_that_no_key_helps_is_refused() -> None:
    """Runs of three of every byte value become exclamation marks under one key or another."""
    with pytest.raises(PackingError, match="no key"):
        keyed(b"".join(bytes((value,)) * 3 for value in range(256)))


def test_the_stream_is_zlib_to_any_other_program() -> None:
    """Behind the key lies a plain zlib stream (RFC 1950), which the standard library's one-call reader takes."""
    packed = pack_text("Great Open Diapason 8")
    assert zlib.decompress(bytes(byte ^ packed[0] for byte in packed[1:])) == b"Great Open Diapason 8"


@pytest.mark.parametrize(
    ("packed", "said"),
    [
        (b"", "empty"),
        (pack_text("some text")[:-3], "cut short"),
        (pack_text("some text") + b"x", "follows its end"),
        (b"\x00nonsense", "damaged"),
        (keyed(zlib.compress(b"\xff\xfe")), "not UTF-8"),
        (keyed(zlib.compress(b"a" * (TEXT_BYTES_MAX + 1))), "unpacks to more than"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_damaged_bytes_are_refused_in_words(packed: bytes, said: str) -> None:
    """Bytes that are no packed text are refused with the reason; a small packet cannot unpack to a huge text."""
    with pytest.raises(PackingError, match=said):
        unpack_text(packed)


@given(st.binary(max_size=80))
def test_no_bytes_bring_out_anything_but_a_refusal(packed: bytes) -> None:
    """Random bytes are text or are refused, and nothing else happens."""
    text: str | None = None
    with suppress(PackingError):
        text = unpack_text(packed)
    assert text is None or pack_text(text)
