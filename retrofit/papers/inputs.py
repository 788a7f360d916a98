"""Where a wire ends: the input's name, the pin to find it by, and the level that means "on" there."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Board
from retrofit.plan.scan_choice import REGISTER
from retrofit.scan.addresses import Address, ChainAddress, ConverterAddress, MatrixAddress, PinAddress
from retrofit.scan.layout import Lane, ScanLayout, Source

INPUT_LETTERS = "ABCDEFGH"
"""Parallel inputs of a 74HC165 for bits 0 to 7 of the byte that it shifts out; H comes out first."""


@dataclass(frozen=True, slots=True)
class Input:
    """The end of a wire; `on_level` is None where no logic level is read."""

    name: str
    connector: str
    on_level: str | None


def input_of(address: Address | None, layout: ScanLayout, board: Board) -> Input:
    """Return where the wire of an address ends on this board; empty words for a point without an address."""
    match address:
        case None:
            return Input("", "", None)
        case ChainAddress(register, bit):
            connector = f"register {register} pin {input_pin(bit)}"
            return Input(INPUT_LETTERS[bit], connector, _on_level(layout, Source.CHAIN, "chain", register, bit))
        case MatrixAddress(matrix, row, column):
            return _crossing(address, layout, board, _on_level(layout, Source.MATRIX, str(matrix), row, column))
        case PinAddress(pin, port, bit):
            return Input(f"{port}{bit}", f"pin {pin}", _on_level(layout, Source.PORT, port, 0, bit))
        case ConverterAddress(channel):
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


def _on_level(layout: ScanLayout, source: Source, where: str, place: int, bit: int) -> str | None:
    lane = _lane(layout, source, where, place)
    if lane is None:
        return None
    return "low" if lane.invert >> bit & 1 else "high"


def _lane(layout: ScanLayout, source: Source, where: str, place: int) -> Lane | None:
    lanes = (lane for lane in layout.lanes if lane.source is source and lane.where == where and lane.place == place)
    return next(lanes, None)
