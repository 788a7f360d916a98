"""The parts of the chosen sense circuits: in words for each input, and counted for the whole job."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from math import ceil

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.quantity import quantity
from retrofit.circuits.sense.design import Part
from retrofit.plan.listening import listened_groups, strobes_design
from retrofit.plan.model import ConversionPlan
from retrofit.plan.scan_choice import REGISTER
from retrofit.plan.sensing.model import GroupSensing
from retrofit.scan.layout import Lane, MatrixLayout, ScanLayout, Source

NOT_KNOWN = "values not known yet: `retrofit check` names the readings that are missing"
PIECES = ("piece", "pieces")
_COLUMN, _ROW = "from each column", "in each row"


def sensed_group(plan: ConversionPlan, group: str) -> GroupSensing | None:
    """Return how a group is sensed; None where that was not worked out."""
    return next((sensed for sensed in plan.sensing if sensed.group == group), None)


def chosen_parts(plan: ConversionPlan, group: str) -> tuple[Part, ...]:
    """Return the parts of a group's chosen circuit; nothing where none is chosen or its values are not known."""
    sensed = sensed_group(plan, group)
    return () if sensed is None or sensed.chosen is None else sensed.chosen.parts


def part_words(part: Part) -> str:
    """Return a part with its value, without its place."""
    return part.kind if part.unit in PIECES else f"{part.kind} {quantity(part.value, part.unit)}"


def parts_words(parts: Sequence[Part]) -> str:
    """Return parts with their places, equal ones counted."""
    found = Counter(f"{part_words(part)} {part.role}" for part in parts)
    return "; ".join(f"{number} x {words}" if number > 1 else words for words, number in found.items())


def circuit_words(plan: ConversionPlan, group: str) -> str:
    """Return the circuit of each input of a group with its values; empty where sensing was not worked out."""
    sensed = sensed_group(plan, group)
    if sensed is None:
        return ""
    if sensed.chosen is None:
        return "no circuit chosen yet: `retrofit check` says why"
    return f"{sensed.chosen.circuit}: {parts_words(sensed.chosen.parts) or NOT_KNOWN}"


def inputs_of(lane: Lane) -> tuple[str, ...]:
    """Return the points that a lane reads, in the order of its bits."""
    return tuple(point for bit, point in enumerate(lane.points) if point is not None and lane.used >> bit & 1)


def parts_to_fit(plan: ConversionPlan) -> tuple[tuple[int, str], ...]:
    """Return how many of what is to be fitted: registers and their capacitors, then other parts by kind and value.

    Parts that each key of a matrix has as found are not among them.
    """
    found: dict[str, float] = {}
    for words, pieces in (*_of_the_chain(plan), *sorted(_other_parts(plan))):
        found[words] = found.get(words, 0.0) + pieces
    return tuple((ceil(pieces), words) for words, pieces in found.items() if pieces)


def inputs_without_values(plan: ConversionPlan) -> int:
    """Return how many inputs still wait for the values of their circuit."""
    return sum(len(inputs_of(lane)) for lane in plan.layout.lanes if _waits(plan, lane.group))


def _waits(plan: ConversionPlan, group: str) -> bool:
    return sensed_group(plan, group) is not None and not chosen_parts(plan, group)


def _of_the_chain(plan: ConversionPlan) -> Iterator[tuple[str, float]]:
    boards = {lane.group for lane in plan.layout.lanes if lane.source is Source.CHAIN}
    yield load_catalogue().registers[REGISTER].name, plan.layout.registers
    yield capacitor_words("bypass"), plan.layout.registers
    yield capacitor_words("board_reservoir"), len(boards)


def capacitor_words(name: str) -> str:
    """Return a capacitor that every register, or every board of registers, has across its supply."""
    figure = load_catalogue().registers[REGISTER].figures[name]
    return f"capacitor {quantity(figure.usual, figure.unit)}"


def midi_resistor_words(plan: ConversionPlan) -> tuple[str, str]:
    """Return the resistors in the supply's line and in the data line of the MIDI output's loop."""
    socket = load_catalogue().boards[plan.board].midi_socket
    supply, data = (f"resistor {quantity(leg.usual, leg.unit)}" for leg in (socket.series, socket.series_data))
    return supply, data


def _other_parts(plan: ConversionPlan) -> Iterator[tuple[str, float]]:
    for part, places in _of_the_circuits(plan):
        yield part_words(part), places * (part.value if part.unit in PIECES else 1)
    if plan.job.wanted.by_din:
        yield from ((words, 1) for words in midi_resistor_words(plan))


def _of_the_circuits(plan: ConversionPlan) -> Iterator[tuple[Part, int]]:
    """Yield every part with the number of inputs, or of a matrix's columns, that have it."""
    for lane in plan.layout.lanes:
        if lane.source not in (Source.MATRIX, Source.LISTEN):
            yield from ((part, len(inputs_of(lane))) for part in chosen_parts(plan, lane.group))
    for matrix in plan.layout.matrices:
        yield from ((part, matrix.columns) for part in column_parts(plan, matrix))
        yield from ((part, len(matrix.row_pins)) for part in row_parts(plan, matrix))
    yield from _of_the_scanner(plan)
    for point in plan.layout.converters:
        yield from ((part, 1) for part in chosen_parts(plan, point.partition(".")[0]))
    if plan.power is not None and plan.power.bleeder is not None:
        yield plan.power.bleeder.part, 1


def _of_the_scanner(plan: ConversionPlan) -> Iterator[tuple[Part, int]]:
    """Yield the parts of each strobe and each return that is listened to."""
    layout = plan.layout.listener
    if layout is None:
        return
    yield from ((part, len(layout.strobe_pins)) for part in strobe_parts(plan))
    owners = {lane.where: lane.group for lane in plan.layout.lanes if lane.source is Source.LISTEN}
    for bank, bits in enumerate(layout.return_bits, start=1):
        yield from ((part, bits.bit_count()) for part in chosen_parts(plan, owners.get(str(bank), "")))


def strobe_parts(plan: ConversionPlan) -> tuple[Part, ...]:
    """Return the parts of each strobe's input."""
    found = next((group.wiring.strobes for group in listened_groups(plan.job)), None)
    catalogue = load_catalogue()
    return strobes_design(found, catalogue.boards[plan.board], catalogue).parts


def column_parts(plan: ConversionPlan, matrix: MatrixLayout) -> tuple[Part, ...]:
    """Return the parts that each column of a matrix has, whichever groups share it."""
    return _matrix_parts(plan, matrix, _COLUMN)


def row_parts(plan: ConversionPlan, matrix: MatrixLayout) -> tuple[Part, ...]:
    """Return the parts that each row of a matrix has, where its rows are driven."""
    return _matrix_parts(plan, matrix, _ROW)


def _matrix_parts(plan: ConversionPlan, matrix: MatrixLayout, place: str) -> tuple[Part, ...]:
    first = matrix_lanes(plan.layout, matrix)[0]
    return tuple(part for part in chosen_parts(plan, first.group) if part.role.startswith(place))


def matrix_lanes(layout: ScanLayout, matrix: MatrixLayout) -> tuple[Lane, ...]:
    """Return the rows of a matrix that are read."""
    return tuple(lane for lane in layout.lanes if lane.source is Source.MATRIX and lane.where == str(matrix.number))
