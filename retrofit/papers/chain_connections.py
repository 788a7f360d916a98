"""The chain register by register: contacts on its inputs, its data onward, and the five pins that all have alike."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Board, Pinout
from retrofit.papers.connection import RETURN, SUPPLY, Connection, Section
from retrofit.papers.fitted_parts import capacitor_words, chosen_parts, circuit_words, parts_words
from retrofit.papers.inputs import INPUT_LETTERS
from retrofit.papers.point_words import found_text, point_words
from retrofit.plan.model import ConversionPlan
from retrofit.plan.scan_choice import REGISTER
from retrofit.scan.layout import Lane, Source

LOAD, CLOCK, DATA_IN = "chain load", "chain clock", "chain data in"


def board_pin(board: Board, use: str) -> str:
    """Return the pin of a board that the chain needs for a use."""
    return next(pin for pin, what in board.chain_pins.items() if what == use)


def chain_sections(plan: ConversionPlan) -> Iterator[Section]:
    """Yield a section for each register, from the one nearest the board outward."""
    lanes = {lane.place: lane for lane in plan.layout.lanes if lane.source is Source.CHAIN}
    for register in range(plan.layout.registers):
        yield _section(plan, register, lanes.get(register))


def _section(plan: ConversionPlan, register: int, lane: Lane | None) -> Section:
    group = "" if lane is None else lane.group
    circuit = circuit_words(plan, group)
    heading = f"REGISTER {register}: {group}" if lane else f"REGISTER {register}: no contacts"
    connections = (*_inputs(plan, register, lane), *_serial(plan, register, group), *_alike(plan, register, group))
    return Section((heading, *((f"each input: {circuit}",) if circuit else ())), connections)


def _inputs(plan: ConversionPlan, register: int, lane: Lane | None) -> Iterator[Connection]:
    """Yield the inputs A to H; one without a contact must not float."""
    points = {planned.point.id: planned.point for planned in plan.points}
    place = register_name(register)
    for bit, pin in enumerate(_pinout().inputs):
        name = None if lane is None or not lane.used >> bit & 1 else lane.points[bit]
        group = "" if lane is None else lane.group
        letter = INPUT_LETTERS[bit]
        if name is None:
            yield Connection(place, str(pin), letter, f"no contact: {RETURN}", group=group)
            continue
        point, parts = points[name], parts_words(chosen_parts(plan, group))
        yield Connection(place, str(pin), letter, point_words(point), parts, group, point.id, found_text(point))


def _serial(plan: ConversionPlan, register: int, group: str) -> Iterator[Connection]:
    pinout, place = _pinout(), register_name(register)
    board = load_catalogue().boards[plan.board]
    nearer = f"{register_name(register - 1)} pin {pinout.serial_in}"
    inward = nearer if register else f"board pin {board_pin(board, DATA_IN)}"
    farther = f"{register_name(register + 1)} pin {pinout.serial_out}"
    outward = farther if register + 1 < plan.layout.registers else f"{RETURN}: the last one"
    yield Connection(place, str(pinout.serial_out), "QH, serial out", inward, group=group)
    yield Connection(place, str(pinout.serial_in), "SER, serial in", outward, group=group)


def _alike(plan: ConversionPlan, register: int, group: str) -> Iterator[Connection]:
    """Yield what every register has on the same pins."""
    pinout, place = _pinout(), register_name(register)
    board = load_catalogue().boards[plan.board]
    bypass = f"{capacitor_words('bypass')}, pin {pinout.ground}"
    yield Connection(place, str(pinout.load), "load", f"board pin {board_pin(board, LOAD)}", group=group)
    yield Connection(place, str(pinout.clock), "clock", f"board pin {board_pin(board, CLOCK)}", group=group)
    yield Connection(place, str(pinout.clock_inhibit), "clock inhibit", RETURN, group=group)
    yield Connection(place, str(pinout.ground), "return", RETURN, group=group)
    yield Connection(place, str(pinout.supply), "supply", SUPPLY, bypass, group)


def register_name(number: int) -> str:
    """Return what a register is called; 0 is the nearest to the board."""
    return f"register {number}"


def _pinout() -> Pinout:
    return load_catalogue().registers[REGISTER].pinout
