"""Where a point is read: register and bit, row and column, pin, multiplexer, expander, strobe and return, converter.

Every address has one text form, which stands in the job file, in the plan and on paper, and reads back exactly.
Registers are counted from 0 at the board outward; bits are those of the byte shifted in, bit 7 first (input H = D7).
"""

from __future__ import annotations

import re
from collections.abc import Callable
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


@dataclass(frozen=True, slots=True, order=True)
class MultiplexerAddress:
    """An input of a multiplexer; multiplexers are counted from 1, eight to a bank, inputs as the part counts them."""

    multiplexer: int
    input: int

    def __str__(self) -> str:
        return f"multiplexer {self.multiplexer} input {self.input}"


@dataclass(frozen=True, slots=True, order=True)
class ExpanderAddress:
    """A pin of an expander on the two-wire bus; expanders are counted from 1, pins from 0 through both their ports."""

    expander: int
    pin: int

    def __str__(self) -> str:
        return f"expander {self.expander} pin {self.pin}"


@dataclass(frozen=True, slots=True, order=True)
class ListenAddress:
    """Where a strobe of the organ's own scanner meets a return; both counted from 0, eight returns to a port."""

    strobe: int
    line: int

    def __str__(self) -> str:
        return f"strobe {self.strobe}, return {self.line}"


ContactAddress = ChainAddress | MatrixAddress | PinAddress | MultiplexerAddress | ExpanderAddress | ListenAddress
Address = ContactAddress | ConverterAddress
FORMS = (
    "chain register 3 bit 5",
    "matrix 1 row 2 column 5",
    "pin 22 (A0)",
    "converter 0",
    "multiplexer 3 input 11",
    "expander 2 pin 9",
    "strobe 3, return 5",
)
"""One example of each text form."""

_CHAIN = re.compile(r"chain register (\d{1,3}) bit ([0-7])")
_MATRIX = re.compile(r"matrix (\d{1,2}) row (\d{1,2}) column (\d{1,2})")
_PIN = re.compile(r"pin (\w{1,8}) \(([A-Z])([0-7])\)")
_CONVERTER = re.compile(r"converter (\d{1,2})")
_MULTIPLEXER = re.compile(r"multiplexer (\d{1,2}) input (\d{1,2})")
_EXPANDER = re.compile(r"expander (\d{1,2}) pin (\d{1,2})")
_LISTEN = re.compile(r"strobe (\d{1,2}), return (\d{1,2})")
_READERS: tuple[tuple[re.Pattern[str], Callable[..., Address]], ...] = (
    (_CHAIN, lambda register, bit: ChainAddress(int(register), int(bit))),
    (_MATRIX, lambda matrix, row, column: MatrixAddress(int(matrix), int(row), int(column))),
    (_PIN, lambda pin, port, bit: PinAddress(pin, port, int(bit))),
    (_CONVERTER, lambda channel: ConverterAddress(int(channel))),
    (_MULTIPLEXER, lambda multiplexer, number: MultiplexerAddress(int(multiplexer), int(number))),
    (_EXPANDER, lambda expander, pin: ExpanderAddress(int(expander), int(pin))),
    (_LISTEN, lambda strobe, line: ListenAddress(int(strobe), int(line))),
)


def parse_address(text: str) -> Address:
    """Return the address that `text` names.  Raises `ValueError` with every form when it names none."""
    for form, read in _READERS:
        if found := form.fullmatch(text):
            return read(*found.groups())
    *others, last = (f"{form!r}" for form in FORMS)
    raise ValueError(f"{text!r} is no address; allowed are {', '.join(others)} and {last}")
