"""What is connected to the pins of the board itself: supply, chain, MIDI out, matrices, direct contacts and shoes."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Board
from retrofit.circuits.quantity import quantity
from retrofit.papers.chain_connections import CLOCK, DATA_IN, LOAD, board_pin, register_name
from retrofit.papers.common_connections import commons
from retrofit.papers.connection import RETURN, SUPPLY, Connection, Section
from retrofit.papers.fitted_parts import (
    capacitor_words,
    chosen_parts,
    circuit_words,
    column_parts,
    inputs_of,
    matrix_lanes,
    midi_resistor_words,
    part_words,
    parts_words,
    row_parts,
)
from retrofit.papers.point_words import found_text, point_words
from retrofit.plan.model import ConversionPlan
from retrofit.plan.scan_choice import REGISTER
from retrofit.plan.sensing.model import GroupBranch
from retrofit.scan.layout import MatrixLayout, Source
from retrofit.survey.contacts import ShoeSensor
from retrofit.survey.ladder import Ladder
from retrofit.survey.points import Point

BOARD = "board"
MIDI_OUT = "MIDI out"
SOCKET = "MIDI socket"


def board_sections(plan: ConversionPlan) -> Iterator[Section]:
    """Yield the sections of the board, each only where something is connected."""
    chain, midi = _chain(plan), _midi(plan)
    sections = (_supply(plan), commons(plan), chain, midi, *_matrices(plan), *_ports(plan), _converters(plan))
    return (section for section in sections if section.connections)


def _supply(plan: ConversionPlan) -> Section:
    supply = _board(plan).figures["supply"]
    volts = quantity(supply.usual, supply.unit)
    return Section(
        (f"SUPPLY: {SUPPLY} is the {volts} of the board, {RETURN} its ground; join the return before the supply",),
        tuple(_supplied(plan)),
    )


def _supplied(plan: ConversionPlan) -> Iterator[Connection]:
    branches = {} if plan.power is None else {branch.group: branch for branch in plan.power.branches}
    for group in dict.fromkeys(lane.group for lane in plan.layout.lanes if lane.source is Source.CHAIN):
        fuse = _branch_words(branches[group]) if group in branches else ""
        yield Connection(SUPPLY, "", "supply branch", f"registers of {group}", fuse, group)
        yield Connection(SUPPLY, "", "at its end", RETURN, capacitor_words("board_reservoir"), group)
    if plan.power is not None and plan.power.bleeder is not None:
        part = plan.power.bleeder.part
        yield Connection(SUPPLY, "", "bleeder", RETURN, f"{part_words(part)}, {part.rating}")


def _branch_words(branch: GroupBranch) -> str:
    if branch.branch is None:
        return "no wire and fuse serve it"
    return f"fuse {quantity(branch.branch.fuse_amps, 'A')}, {quantity(branch.branch.area_mm2, 'mm²')}"


def _chain(plan: ConversionPlan) -> Section:
    """Return the board's three pins of the chain; nothing where there is no register."""
    board, pinout = _board(plan), load_catalogue().registers[REGISTER].pinout
    every = "every register"
    ends = (
        (LOAD, f"pin {pinout.load} of {every}"),
        (CLOCK, f"pin {pinout.clock} of {every}"),
        (DATA_IN, f"pin {pinout.serial_out} of {register_name(0)}"),
    )
    connections = tuple(Connection(BOARD, board_pin(board, use), use, to) for use, to in ends)
    heading = (
        "CHAIN: register 0 is the nearest to the board; data runs from the last register to the board",
        f"pins of the registers: {pinout.source}; {pinout.read}: check them with the data sheet of your part",
    )
    return Section(heading, connections if plan.layout.registers else ())


def _midi(plan: ConversionPlan) -> Section:
    """Return the three wires of the 5-pin socket; nothing where MIDI leaves by another way."""
    board = _board(plan)
    socket, (in_supply, in_data) = board.midi_socket, midi_resistor_words(plan)
    data_pin = next((pin.name for pin in board.pins if pin.reserved == MIDI_OUT), "")
    connections = (
        Connection(BOARD, data_pin, MIDI_OUT, f"{SOCKET} pin {socket.data}", in_data),
        Connection(SOCKET, str(socket.supply), "socket, supply", SUPPLY, in_supply),
        Connection(SOCKET, str(socket.shield), "socket, shield", f"{RETURN}, at this end of the cable alone"),
    )
    free = " and ".join(str(pin) for pin in range(1, 6) if pin not in (socket.supply, socket.data, socket.shield))
    heading = (
        f"MIDI OUT: 5-pin DIN socket, pins counted as printed on it; pins {free} stay free",
        f"{socket.series.source} ({socket.series.read})",
    )
    wanted = plan.job.wanted.by_din and data_pin
    return Section(heading, connections if wanted else ())


def _matrices(plan: ConversionPlan) -> Iterator[Section]:
    for matrix in plan.layout.matrices:
        lanes = matrix_lanes(plan.layout, matrix)
        groups = dict.fromkeys(lane.group for lane in lanes)
        circuits = tuple(f"{group}: {circuit}" for group in groups if (circuit := circuit_words(plan, group)))
        heading = f"MATRIX {matrix.number}: {', '.join(groups)}; every contact lies between its row and its column"
        as_found = ("the diodes stand at the keys as found, and are not counted above",) if circuits else ()
        yield Section((heading, *circuits, *as_found), (*_rows(plan, matrix), *_columns(plan, matrix)))


def _rows(plan: ConversionPlan, matrix: MatrixLayout) -> Iterator[Connection]:
    points, parts = _points(plan), parts_words(row_parts(plan, matrix))
    for lane in matrix_lanes(plan.layout, matrix):
        on_row = [points[name] for name in inputs_of(lane)]
        ends = on_row if len(on_row) == 1 else [on_row[0], on_row[-1]] if on_row else []
        to = " to ".join(point_words(point) for point in ends) or "no contacts"
        yield Connection(BOARD, matrix.row_pins[lane.place], f"row {lane.place}", to, parts, lane.group)


def _columns(plan: ConversionPlan, matrix: MatrixLayout) -> Iterator[Connection]:
    lanes, parts = matrix_lanes(plan.layout, matrix), parts_words(column_parts(plan, matrix))
    points = _points(plan)
    pins = {pin.bit: pin.name for pin in _board(plan).pins if pin.port == matrix.column_port}
    for column in range(matrix.columns):
        names = [lane.points[column] for lane in lanes if lane.used >> column & 1]
        first = next((point_words(points[name]) for name in names if name is not None), "no contacts")
        more = f" and {len(names) - 1} more, one of each row" if len(names) > 1 else ""
        yield Connection(BOARD, pins[column], f"column {column}", first + more, parts)


def _ports(plan: ConversionPlan) -> Iterator[Section]:
    """Yield the contacts on pins of their own, group by group."""
    lanes = [lane for lane in plan.layout.lanes if lane.source is Source.PORT]
    points, pins = _points(plan), {(pin.port, pin.bit): pin.name for pin in _board(plan).pins}
    for group in dict.fromkeys(lane.group for lane in lanes):
        parts = parts_words(chosen_parts(plan, group))
        connections = (
            _contact(pins[lane.where, bit], f"port {lane.where} bit {bit}", points[name], parts)
            for lane in lanes
            for bit, name in enumerate(lane.points)
            if lane.group == group and name is not None and lane.used >> bit & 1
        )
        circuit = circuit_words(plan, group)
        heading = (f"DIRECT PINS: {group}", *((f"each input: {circuit}",) if circuit else ()))
        yield Section(heading, tuple(connections))


def _contact(pin: str, signal: str, point: Point, parts: str) -> Connection:
    return Connection(BOARD, pin, signal, point_words(point), parts, point.group, point.id, found_text(point))


def _converters(plan: ConversionPlan) -> Section:
    points = _points(plan)
    pins = {pin.converter: pin.name for pin in _board(plan).pins if pin.converter is not None}
    by_channel = sorted(plan.layout.converters.items(), key=lambda entry: entry[1].channel)
    connections = tuple(
        _contact(pins[address.channel], f"converter {address.channel}", points[name], _shoe_words(plan, points[name]))
        for name, address in by_channel
    )
    return Section(("SHOES: the board reads a voltage between our return and our supply",), connections)


def _shoe_words(plan: ConversionPlan, point: Point) -> str:
    circuit = circuit_words(plan, point.group)
    if circuit:
        return circuit
    if point.shoe is not None and point.shoe.sensor is ShoeSensor.POTENTIOMETER:
        return f"wiper to the pin, ends to {SUPPLY} and {RETURN}"
    if point.shoe is not None and point.shoe.ladder is not None:
        return _ladder_words(point.shoe.ladder)
    return f"with a resistor it divides {SUPPLY}; its value is not worked out, read both ends of the travel first"


def _ladder_words(ladder: Ladder) -> str:
    to_supply = f"{ladder.to_supply}" if ladder.to_supply.known else "a resistor whose value is not written down"
    return f"the ladder's line to the pin, its other end to {RETURN}, and {to_supply} from the pin to {SUPPLY}"


def _points(plan: ConversionPlan) -> dict[str, Point]:
    return {planned.point.id: planned.point for planned in plan.points}


def _board(plan: ConversionPlan) -> Board:
    return load_catalogue().boards[plan.board]
