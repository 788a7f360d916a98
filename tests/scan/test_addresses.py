"""Addresses in words, and what a fresh layout would move."""

from __future__ import annotations

import pytest

from retrofit.scan.addresses import (
    Address,
    ChainAddress,
    ConverterAddress,
    ExpanderAddress,
    MatrixAddress,
    MultiplexerAddress,
    PinAddress,
    parse_address,
)
from retrofit.scan.moves import find_moves

WORDS: list[tuple[Address, str]] = [
    (ChainAddress(3, 5), "chain register 3 bit 5"),
    (MatrixAddress(1, 2, 5), "matrix 1 row 2 column 5"),
    (MultiplexerAddress(3, 11), "multiplexer 3 input 11"),
    (ExpanderAddress(2, 9), "expander 2 pin 9"),
    (PinAddress("22", "A", 0), "pin 22 (A0)"),
    (PinAddress("A8", "K", 0), "pin A8 (K0)"),
    (ConverterAddress(15), "converter 15"),
]


@pytest.mark.parametrize(("address", "words"), WORDS)
def test_an_address_reads_back(address: Address, words: str) -> None:
    """Each kind of address has one text form, which reads back as itself."""
    assert str(address) == words
    assert parse_address(words) == address


@pytest.mark.parametrize("words", ["", "chain register 3", "chain register 3 bit 8", "pin 22", "converter -1", " pin"])
def test_other_words_are_no_address(words: str) -> None:
    """Anything else is refused with the four forms."""
    with pytest.raises(ValueError, match="is no address; allowed are"):
        parse_address(words)


def test_moves_are_points_in_both_at_another_address() -> None:
    """A point that moved is listed in the proposal's order; new, vanished and unmoved points are not."""
    recorded: dict[str, Address] = {
        "a": ChainAddress(0, 0),
        "b": ChainAddress(0, 1),
        "gone": ChainAddress(0, 2),
        "c": ConverterAddress(1),
    }
    proposed: dict[str, Address] = {
        "c": ConverterAddress(0),
        "new": ChainAddress(1, 0),
        "b": ChainAddress(0, 1),
        "a": ChainAddress(0, 2),
    }
    assert find_moves(recorded, proposed) == (
        ("c", "converter 1", "converter 0"),
        ("a", "chain register 0 bit 0", "chain register 0 bit 2"),
    )
