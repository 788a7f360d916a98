"""The numbers of the protocol against those that the firmware is compiled with."""

from __future__ import annotations

import re
from enum import IntEnum

import pytest

from retrofit.cli.board_figures import _WORDS as COUNT_WORDS
from retrofit.firmware.link import words
from tests.firmware.build import CORE

HEADER = (CORE / "link_words.h").read_text(encoding="utf-8")
PLAIN = re.sub(r"/\*.*?\*/", "", HEADER, flags=re.DOTALL)
DEFINED = {name: int(value, 0) for name, value in re.findall(r"#define LINK_(\w+) (0x[0-9A-F]+|\d+)[ ]*\n", PLAIN)}


def enumerated(name: str) -> dict[str, int]:
    """Return the members of an enumeration of the header without their prefix."""
    body = re.search(rf"enum {name} \{{(.*?)\}}", PLAIN, re.DOTALL)
    assert body is not None, name
    return {member: int(value, 0) for member, value in re.findall(r"LINK_(\w+) = (0x[0-9A-F]+|\d+)", body[1])}


def numbers(words: type[IntEnum], prefix: str = "") -> dict[str, int]:
    """Return the members of one of our enumerations by the header's names."""
    return {f"{prefix}{member.name}": int(member) for member in words}


def test_kinds_are_those_of_the_header() -> None:
    """Every question that the firmware knows has the same name and number here, and there are no others."""
    sizes = {"VERSION", "HEAD_BYTES", "CHECK_BYTES", "PAYLOAD_MAX", "ANSWER", "REFUSED", "BINS", "NONE_8", "NONE_16"}
    kinds = {
        name: value for name, value in DEFINED.items() if name not in sizes and not name.endswith(("_BYTES", "_MOST"))
    }
    assert kinds == numbers(words.Kind)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (words.PROTOCOL, "VERSION"),
        (words.HEAD_BYTES, "HEAD_BYTES"),
        (words.CHECK_BYTES, "CHECK_BYTES"),
        (words.PAYLOAD_BYTES_MAX, "PAYLOAD_MAX"),
        (words.ANSWER, "ANSWER"),
        (words.REFUSAL, "REFUSED"),
        (words.BINS, "BINS"),
        (words.NONE_8, "NONE_8"),
        (words.NONE_16, "NONE_16"),
    ],
)
def test_sizes_are_those_of_the_header(ours: int, theirs: str) -> None:
    """Sizes and marks are the firmware's."""
    assert DEFINED[theirs] == ours


@pytest.mark.parametrize(
    ("ours", "theirs", "prefix"),
    [
        (words.Reason, "link_reason", ""),
        (words.Chip, "link_chip", "CHIP_"),
        (words.Text, "link_text", ""),
        (words.Store, "link_store", "STORE_"),
        (words.Count, "link_count", ""),
    ],
)
def test_enumerations_are_those_of_the_header(ours: type[IntEnum], theirs: str, prefix: str) -> None:
    """Reasons, chips, texts, counts and ways of keeping have the firmware's numbers."""
    found = enumerated(theirs)
    found.pop("COUNTS", None)
    assert found == numbers(ours, prefix)


def test_flags_are_those_of_the_header() -> None:
    """Flags have the firmware's bits."""
    assert enumerated("link_flag") == {f"FLAG_{flag.name}": flag.value for flag in words.Flag}


def test_everything_has_words() -> None:
    """Every question, reason and count can be said to people."""
    assert all(kind.words for kind in words.Kind)
    assert set(words.REFUSALS) == set(words.Reason)
    assert set(COUNT_WORDS) == set(words.Count)
