"""Where a wire ends: the input's name, the pin to find it by, and the level that means "on" there."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Board
from retrofit.plan.scan_choice import REGISTER
from retrofit.scan.addresses import (
    Address,
    ChainAddress,
    ConverterAddress,
    ExpanderAddress,
    ListenAddress,
    MatrixAddress,
    MultiplexerAddress,
    PinAddress,
)
from retrofit.scan.layout import Lane, ScanLayout, Source

INPUT_LETTERS = "ABCDEFGH"
"""Parallel inputs of a 74HC165 for bits 0 to 7 of the byte that it shifts out; H comes out first."""


MULTIPLEXER_PINS = {
    8: (13, 14, 15, 12, 1, 5, 2, 4),
    16: (9, 8, 7, 6, 5, 4, 3, 2, 23, 22, 21, 20, 19, 18, 17, 16),
}
"""Pins of the inputs Y0 up: 16-pin 74HC4051 and 24-pin 74HC4067 (Nexperia, pin descriptions; from memory)."""
EXPANDER_PINS = (21, 22, 23, 24, 25, 26, 27, 28, 1, 2, 3, 4, 5, 6, 7, 8)
"""Pins of GPA0 to GPA7 and GPB0 to GPB7 of the 28-pin MCP23017 (Microchip DS20001952C, pin names; from memory)."""


@dataclass(frozen=True, slots=True)
class Input:
    """The end of a wire; `on_level` is None where no logic level is read."""

    name: str
    connector: str
    on_level: str | None


def input_of(address: Address | None, layout: ScanLayout, board: Board) -> Input:
    """Return where the wire of an address ends on this board; empty words for a point without an address."""
    return Input("", "", None) if address is None else _end_of(address, layout, board)


def _end_of(address: Address, layout: ScanLayout, board: Board) -> Input:
    found: Input
    match address:
        case ChainAddress(register, bit):
            connector = f"register {register} pin {input_pin(bit)}"
            found = Input(INPUT_LETTERS[bit], connector, _on_level(layout, Source.CHAIN, "chain", register, bit))
        case MatrixAddress(matrix, row, column):
            found = _crossing(address, layout, board, _on_level(layout, Source.MATRIX, str(matrix), row, column))
        case PinAddress(pin, port, bit):
            found = Input(f"{port}{bit}", f"pin {pin}", _on_level(layout, Source.PORT, port, 0, bit))
        case MultiplexerAddress(multiplexer, number):
            found = _multiplexed(multiplexer, number, layout)
        case ExpanderAddress(expander, pin):
            found = _expanded(expander, pin, layout)
        case ListenAddress(strobe, line):
            found = _listened(strobe, line, layout, board)
        case ConverterAddress(channel):
            found = _converted(channel, board)
    return found


def _converted(channel: int, board: Board) -> Input:
    pins = [pin.name for pin in board.pins if pin.converter == channel]
    return Input(f"converter {channel}", f"pin {', '.join(pins)}", None)


def input_pin(bit: int) -> int:
    """Return the pin of the register's package for a bit of the byte that it shifts out."""
    return load_catalogue().registers[REGISTER].pinout.inputs[bit]


def _crossing(address: MatrixAddress, layout: ScanLayout, board: Board, on_level: str | None) -> Input:
    matrix = next(matrix for matrix in layout.matrices if matrix.number == address.matrix)
    columns = [p.name for p in board.pins if (p.port, p.bit) == (matrix.column_port, address.column)]
    connector = f"row pin {matrix.row_pins[address.row]}, column pin {', '.join(columns)}"
    return Input(f"row {address.row} column {address.column}", connector, on_level)


def _multiplexed(multiplexer: int, number: int, layout: ScanLayout) -> Input:
    bank_number, bit = (multiplexer - 1) // 8 + 1, (multiplexer - 1) % 8
    bank = next(bank for bank in layout.banks if bank.number == bank_number)
    connector = f"multiplexer {multiplexer} pin {MULTIPLEXER_PINS[bank.inputs][number]}"
    return Input(f"Y{number}", connector, _on_level(layout, Source.MULTIPLEXER, str(bank_number), number, bit))


def _expanded(expander: int, pin: int, layout: ScanLayout) -> Input:
    port, bit = divmod(pin, 8)
    on_level = _on_level(layout, Source.EXPANDER, str(expander), port, bit)
    return Input(f"GP{'AB'[port]}{bit}", f"expander {expander} pin {EXPANDER_PINS[pin]}", on_level)


def _listened(strobe: int, line: int, layout: ScanLayout, board: Board) -> Input:
    bank, bit = divmod(line, 8)
    port = "" if layout.listener is None else layout.listener.return_ports[bank]
    pins = [pin.name for pin in board.pins if (pin.port, pin.bit) == (port, bit)]
    strobes = () if layout.listener is None else layout.listener.strobe_pins
    connector = f"strobe pin {strobes[strobe]}, return pin {', '.join(pins)}"
    on_level = _on_level(layout, Source.LISTEN, str(bank + 1), strobe, bit)
    return Input(f"strobe {strobe} with return {line}", connector, on_level)


def _on_level(layout: ScanLayout, source: Source, where: str, place: int, bit: int) -> str | None:
    lane = _lane(layout, source, where, place)
    if lane is None:
        return None
    return "low" if lane.invert >> bit & 1 else "high"


def _lane(layout: ScanLayout, source: Source, where: str, place: int) -> Lane | None:
    lanes = (lane for lane in layout.lanes if lane.source is source and lane.where == where and lane.place == place)
    return next(lanes, None)
