"""From placed points to the layout that the firmware reads: lanes in reading order, runs, spare places and pins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from retrofit.scan.addresses import (
    Address,
    ChainAddress,
    ContactAddress,
    ConverterAddress,
    ExpanderAddress,
    ListenAddress,
    MatrixAddress,
    MultiplexerAddress,
    PinAddress,
)
from retrofit.scan.expander_places import inputs_of
from retrofit.scan.layout import BankLayout, Lane, ListenLayout, MatrixLayout, Run, ScanLayout, Source
from retrofit.scan.listen_places import ListenPlaces
from retrofit.scan.matrix_places import MatrixPlaces
from retrofit.scan.multiplexer_places import MultiplexerPlaces, multiplexers_of
from retrofit.scan.placing import LANE_BITS, LaneKey, Placing, lane_of
from retrofit.scan.requests import GroupRequest, PlaceRequest
from retrofit.survey.wishes import MatrixDrive

_READING_ORDER = (Source.CHAIN, Source.MATRIX, Source.PORT, Source.MULTIPLEXER, Source.EXPANDER, Source.LISTEN)


@dataclass(frozen=True, slots=True)
class PinsBehind:
    """Who knows the pins behind addresses that name none."""

    matrices: MatrixPlaces
    multiplexers: MultiplexerPlaces
    listened: ListenPlaces


def assemble(requests: Sequence[GroupRequest], placing: Placing, pins: PinsBehind, spi_hz: int | None) -> ScanLayout:
    """Return the layout of everything that has been placed."""
    _adopt_empty_registers(placing)
    asked = {place.point: place for request in requests for place in request.places if place.point is not None}
    lanes = _lanes(placing, asked)
    registers = sum(lane.source is Source.CHAIN for lane in lanes)
    layouts = _matrix_layouts(requests, placing, pins.matrices)
    return ScanLayout(
        lanes=lanes,
        runs=_runs(lanes),
        registers=registers,
        spi_hz=spi_hz if registers else None,
        matrices=layouts,
        banks=_bank_layouts(requests, placing, pins.multiplexers),
        expanders=tuple(sorted(_numbers(placing, Source.EXPANDER))),
        listener=_listener(requests, placing, pins.listened),
        converters={p: a for a, p in placing.points.items() if p is not None and isinstance(a, ConverterAddress)},
        addresses=_addresses(placing, asked),
        pins=_pins(placing, layouts, registers),
        spare=_spare(lanes, placing, layouts),
    )


def _adopt_empty_registers(placing: Placing) -> None:
    """Give a register that nobody has, but that must be shifted through, to the group just before it on the chain."""
    owned = _registers(placing)
    for register in range(max(owned, default=-1) + 1):
        if register not in owned:
            neighbour = register - 1 if register else min(owned)
            owned[register] = owned[neighbour]
            placing.owners[(Source.CHAIN, "chain", register)] = owned[neighbour]


def _registers(placing: Placing) -> dict[int, str]:
    return {place: group for (source, _, place), group in placing.owners.items() if source is Source.CHAIN}


def _lanes(placing: Placing, asked: Mapping[str, PlaceRequest]) -> tuple[Lane, ...]:
    points: dict[LaneKey, list[str | None]] = {lane: [None] * 8 for lane in placing.owners}
    for address, point in placing.points.items():
        lane = lane_of(address)
        if lane is not None and not isinstance(address, ConverterAddress):
            points[lane][bit_of(address)] = point
    ordered = sorted(placing.owners, key=lambda lane: _reading_key(lane, placing))
    return tuple(
        _lane(index, lane, placing.owners[lane], tuple(points[lane]), asked) for index, lane in enumerate(ordered)
    )


def bit_of(address: ContactAddress) -> int:
    """Return the bit of its lane that an address is read at."""
    match address:
        case MatrixAddress(_, _, column):
            return column
        case MultiplexerAddress(multiplexer, _):
            return (multiplexer - 1) % LANE_BITS
        case ExpanderAddress(_, pin):
            return pin % LANE_BITS
        case ListenAddress(_, line):
            return line % LANE_BITS
        case ChainAddress(_, bit) | PinAddress(_, _, bit):
            return bit


def _reading_key(lane: LaneKey, placing: Placing) -> tuple[int, int, int]:
    source, where, place = lane
    order = int(where) if where.isdecimal() else 0
    if source is Source.PORT:
        order = placing.board.ports.index(where)
    return (_READING_ORDER.index(source), order, place)


def _lane(
    index: int, lane: LaneKey, group: str, points: tuple[str | None, ...], asked: Mapping[str, PlaceRequest]
) -> Lane:
    source, where, place = lane
    taking_part = [bit for bit, point in enumerate(points) if point is not None and asked[point].takes_part]
    used = sum(1 << bit for bit in taking_part)
    invert = sum(1 << bit for bit in taking_part if asked[points[bit] or ""].inverted)
    return Lane(index, group, source, where, place, used, invert, points)


def _runs(lanes: Sequence[Lane]) -> tuple[Run, ...]:
    """Return the longest rows of lanes with one group, one source and places that follow each other."""
    breaks = [later.index for earlier, later in pairwise(lanes) if not _follows(earlier, later)]
    starts = [0, *breaks] if lanes else []
    ends = [*breaks, len(lanes)]
    return tuple(
        Run(lanes[start].group, lanes[start].source, lanes[start].where, start, end - start)
        for start, end in zip(starts, ends, strict=False)
    )


def _follows(earlier: Lane, later: Lane) -> bool:
    same = (earlier.group, earlier.source, earlier.where) == (later.group, later.source, later.where)
    return same and later.place == earlier.place + 1


def _matrix_layouts(
    requests: Iterable[GroupRequest], placing: Placing, matrices: MatrixPlaces
) -> tuple[MatrixLayout, ...]:
    by_group = {request.group: request for request in requests if request.interface == "matrix"}
    numbers = sorted(_numbers(placing, Source.MATRIX))
    return tuple(_matrix_layout(number, by_group, placing, matrices) for number in numbers)


def _numbers(placing: Placing, source: Source) -> set[int]:
    return {int(where) for found, where, _ in placing.owners if found is source}


def _matrix_layout(
    number: int, by_group: Mapping[str, GroupRequest], placing: Placing, matrices: MatrixPlaces
) -> MatrixLayout:
    """Return one matrix; its waits are the longest of its groups, in the whole microseconds that the firmware waits.

    It is charged, or its rows are driven, only where that suits each of its groups.
    """
    owners = {lane[2]: group for lane, group in placing.owners.items() if lane[:2] == (Source.MATRIX, str(number))}
    groups = [by_group[group] for group in owners.values()]
    styles = [group.matrix_style for group in groups]
    charged = all(style.precharge_us for style in styles)
    driven = all(style.drive is MatrixDrive.PUSH_PULL for style in styles)
    rise_us = max(_rise_us(group) for group in groups)
    wired = [a.column + 1 for a in placing.points if isinstance(a, MatrixAddress) and a.matrix == number]
    return MatrixLayout(
        number=number,
        row_pins=tuple(pin.name for pin in matrices.row_pins(number, max(owners) + 1)),
        column_port=matrices.column_port(number),
        columns=max([group.matrix_columns for group in groups] + wired),
        settle_us=float(ceil(max(group.settle_us for group in groups) if charged else rise_us)),
        drive=MatrixDrive.PUSH_PULL if driven else MatrixDrive.FLOATING,
        precharge_us=float(ceil(max(style.precharge_us for style in styles))) if charged else 0.0,
        rise_us=float(ceil(rise_us)),
    )


def _rise_us(group: GroupRequest) -> float:
    rise_us = group.matrix_style.rise_us
    return group.settle_us if rise_us is None else rise_us


def _listener(requests: Sequence[GroupRequest], placing: Placing, listened: ListenPlaces) -> ListenLayout | None:
    """Return how the organ's scanner is listened to; None where no group of it found a place.

    Groups share its strobes, so that the most of them and the longest waits serve all.
    """
    found = [a for a in placing.points if isinstance(a, ListenAddress)]
    styles = [request.listen for request in requests if request.listen is not None]
    if not found or not styles:
        return None
    banks = range(1 + max(a.line for a in found) // LANE_BITS)
    bits = [sum({1 << a.line % LANE_BITS for a in found if a.line // LANE_BITS == bank}) for bank in banks]
    strobes = max(1 + a.strobe for a in found)
    return ListenLayout(
        strobe_port=listened.strobe_port,
        strobe_pins=tuple(pin.name for pin in listened.strobe_pins(strobes)),
        active_low=styles[0].active_low,
        return_ports=tuple(listened.return_port(bank) for bank in banks),
        return_bits=tuple(bits),
        settle_us=float(ceil(max(style.settle_us for style in styles))),
        silent_us=max(style.silent_us for style in styles),
        round_us_least=min(style.round_us[0] for style in styles),
    )


def _bank_layouts(
    requests: Iterable[GroupRequest], placing: Placing, multiplexers: MultiplexerPlaces
) -> tuple[BankLayout, ...]:
    settle_us = {request.group: request.settle_us for request in requests if request.interface == "multiplexer"}
    numbers = sorted(_numbers(placing, Source.MULTIPLEXER))
    return tuple(_bank_layout(number, settle_us, placing, multiplexers) for number in numbers)


def _bank_layout(
    number: int, settle_us: Mapping[str, float], placing: Placing, multiplexers: MultiplexerPlaces
) -> BankLayout:
    """Return one bank; its wait is the longest of its groups, in the whole microseconds that the firmware waits."""
    lanes = {lane: group for lane, group in placing.owners.items() if lane[:2] == (Source.MULTIPLEXER, str(number))}
    fitted = [address for address in placing.points if lane_of(address) in lanes]
    inputs = multiplexers.inputs(number)
    return BankLayout(
        number=number,
        common_port=multiplexers.common_port(number),
        select_pins=tuple(pin.name for pin in multiplexers.select_pins(inputs)),
        multiplexers=1 + max(bit_of(address) for address in fitted if isinstance(address, MultiplexerAddress)),
        inputs=inputs,
        settle_us=float(ceil(max(settle_us[group] for group in lanes.values()))),
    )


def _addresses(placing: Placing, asked: Mapping[str, PlaceRequest]) -> dict[str, Address]:
    """Return every point's address, in the order in which the points were asked for."""
    placed = {point: address for address, point in placing.points.items() if point is not None}
    return {point: placed[point] for point in asked if point in placed}


def _pins(placing: Placing, matrices: Iterable[MatrixLayout], registers: int) -> dict[str, str]:
    """Return the use of every pin, in the board's printed order."""
    columns = {matrix.column_port: matrix.columns for matrix in matrices}
    used = {
        pin.name: placing.pins[pin.name]
        for pin in placing.board.pins
        if pin.name in placing.pins and pin.bit < columns.get(pin.port, 8)
    }
    used |= {pin.name: pin.reserved for pin in placing.board.pins if pin.reserved == "MIDI out"}
    if registers:
        used |= placing.board.chain_pins
    return {pin.name: used[pin.name] for pin in placing.board.pins if pin.name in used}


def _spare(lanes: Iterable[Lane], placing: Placing, matrices: Iterable[MatrixLayout]) -> tuple[str, ...]:
    columns = {str(matrix.number): matrix.columns for matrix in matrices}
    return tuple(
        str(address)
        for lane in lanes
        for address in _read_addresses(lane, placing, columns)
        if placing.points.get(address) is None
    )


def _read_addresses(lane: Lane, placing: Placing, columns: Mapping[str, int]) -> list[Address]:
    """Return every address that reading a lane reads."""
    if lane.source is Source.CHAIN:
        return [ChainAddress(lane.place, bit) for bit in range(8)]
    if lane.source is Source.MATRIX:
        return [MatrixAddress(int(lane.where), lane.place, column) for column in range(columns[lane.where])]
    if lane.source is Source.MULTIPLEXER:
        return list(multiplexers_of(int(lane.where), lane.place))
    if lane.source is Source.EXPANDER:
        return list(inputs_of(int(lane.where), lane.place))
    if lane.source is Source.LISTEN:
        first = LANE_BITS * (int(lane.where) - 1)
        placed = {a.line for a in placing.points if isinstance(a, ListenAddress)}
        return [ListenAddress(lane.place, first + bit) for bit in range(LANE_BITS) if first + bit in placed]
    port = placing.port_pins(lane.where)
    own = [PinAddress(pin.name, pin.port, pin.bit) for pin in port]
    return [address for address in own if address in placing.points or address.pin not in placing.pins]
