"""Where a point is read: chain register and bit, matrix row and column, board pin, or converter channel.

Every address has one text form, which stands in the job file, in the plan and on paper, and reads back exactly.
Registers are counted from 0 at the board outward; bits are those of the byte shifted in, bit 7 first (input H = D7).
"""

from __future__ import annotations

import re
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class ChainAddress:
    """A bit of a register on the shift-in chain."""

    register: int
    bit: int

    def __str__(self) -> str:
        return f"chain register {self.register} bit {self.bit}"


@dataclass(frozen=True, slots=True, order=True)
class MatrixAddress:
    """A crossing of a diode matrix; matrices are counted from 1."""

    matrix: int
    row: int
    column: int

    def __str__(self) -> str:
        return f"matrix {self.matrix} row {self.row} column {self.column}"


@dataclass(frozen=True, slots=True, order=True)
class PinAddress:
    """A pin of the board by the name printed on it, with the port and bit behind it."""

    pin: str
    port: str
    bit: int

    def __str__(self) -> str:
        return f"pin {self.pin} ({self.port}{self.bit})"


@dataclass(frozen=True, slots=True, order=True)
class ConverterAddress:
    """A channel of the board's analogue converter."""

    channel: int

    def __str__(self) -> str:
        return f"converter {self.channel}"


Address = ChainAddress | MatrixAddress | PinAddress | ConverterAddress

_CHAIN = re.compile(r"chain register (\d{1,3}) bit ([0-7])")
_MATRIX = re.compile(r"matrix (\d{1,2}) row (\d{1,2}) column (\d{1,2})")
_PIN = re.compile(r"pin (\w{1,8}) \(([A-Z])([0-7])\)")
_CONVERTER = re.compile(r"converter (\d{1,2})")


def parse_address(text: str) -> Address:
    """Return the address that `text` names.  Raises `ValueError` with the four forms when it names none."""
    if found := _CHAIN.fullmatch(text):
        return ChainAddress(int(found[1]), int(found[2]))
    if found := _MATRIX.fullmatch(text):
        return MatrixAddress(int(found[1]), int(found[2]), int(found[3]))
    if found := _PIN.fullmatch(text):
        return PinAddress(found[1], found[2], int(found[3]))
    if found := _CONVERTER.fullmatch(text):
        return ConverterAddress(int(found[1]))
    raise ValueError(
        f"{text!r} is no address; allowed are 'chain register 3 bit 5', 'matrix 1 row 2 column 5', "
        "'pin 22 (A0)' and 'converter 0'"
    )
