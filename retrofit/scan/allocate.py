"""Giving every point an address.

Points that are already wired keep theirs to the letter.  What is left of a group first fills the vacant places of the
group's own registers, rows or ports in order of position, then lanes that nobody has; a new group begins on a fresh
lane, keys first, so that their registers lie nearest to the board.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Board
from retrofit.scan.addresses import Address
from retrofit.scan.assemble import PinsBehind, assemble
from retrofit.scan.chain_places import ChainPlaces
from retrofit.scan.expander_places import EXPANDERS, ExpanderPlaces
from retrofit.scan.listen_places import MOST_STROBES, ListenPlaces
from retrofit.scan.matrix_places import MatrixPlaces
from retrofit.scan.multiplexer_places import MultiplexerPlaces
from retrofit.scan.pin_places import ConverterPlaces, PinPlaces
from retrofit.scan.placing import MOST_LANES, Places, Placing, lane_of
from retrofit.scan.requests import GroupRequest, LayoutResult, PlaceRequest, Unplaced

_PINS_FIRST = ("converter", "pins", "listen", "multiplexer", "expander", "matrix", "chain")
"""Wired points claim their pins in this order, so that a matrix finds out which pins are left."""
_FRESH_ORDER = ("listen", "converter", "multiplexer", "expander", "matrix", "pins", "chain")
"""New groups: what can only lie on few pins goes first, the chain takes what lanes remain."""


def lay_out(
    requests: Sequence[GroupRequest], board: Board, *, fixed: Mapping[str, Address], spi_hz: int | None = None
) -> LayoutResult:
    """Return where every point lies, and every point that found no place with the reason.

    `requests` are in the order of the job file.  `fixed` maps points that are already wired to their addresses; they
    are never moved: one that cannot stay where it is gets no address at all.  `spi_hz` is the clock of the chain.
    """
    placing = Placing(board)
    matrices = MatrixPlaces(placing, {r.group: r.matrix_style for r in requests if r.interface == "matrix"})
    listened = ListenPlaces(placing)
    asked = {request.group: request.multiplexer_inputs for request in requests if request.interface == "multiplexer"}
    multiplexers = MultiplexerPlaces(placing, asked)
    kinds: dict[str, Places] = {
        "chain": ChainPlaces(placing),
        "matrix": matrices,
        "pins": PinPlaces(placing),
        "multiplexer": multiplexers,
        "expander": ExpanderPlaces(placing),
        "converter": ConverterPlaces(placing),
        "listen": listened,
    }
    unplaced = [
        problem
        for request in _in_order(requests, _PINS_FIRST)
        for problem in _place_fixed(request, placing, kinds[request.interface], fixed)
    ]
    for request in _in_order(sorted(requests, key=lambda request: request.speed), _FRESH_ORDER):
        unplaced += _place_rest(request, placing, kinds[request.interface], fixed)
    unplaced += _strangers(requests, fixed)
    pins = PinsBehind(matrices, multiplexers, listened)
    return LayoutResult(assemble(requests, placing, pins, spi_hz), tuple(unplaced))


def _in_order(requests: Iterable[GroupRequest], words: Sequence[str]) -> list[GroupRequest]:
    return sorted(requests, key=lambda request: words.index(request.interface))


def _place_fixed(
    request: GroupRequest, placing: Placing, kind: Places, fixed: Mapping[str, Address]
) -> Iterable[Unplaced]:
    """Put every wired point of a group where it is; yield those that cannot stay there."""
    for point in _points(request.places):
        if point in fixed:
            problem = _conflict(point, request, fixed[point], placing) or _refused(point, request, fixed[point], kind)
            if problem is None:
                placing.put(fixed[point], point, request.group)
            else:
                yield problem


def _points(places: Iterable[PlaceRequest]) -> Iterable[str]:
    return (place.point for place in places if place.point is not None)


def _conflict(point: str, request: GroupRequest, address: Address, placing: Placing) -> Unplaced | None:
    """Return what another point or group that is already in place has against an address."""
    if address in placing.points:
        return Unplaced(
            point,
            request.group,
            conflict=True,
            found=f"{point} is wired at {address}, where {placing.points[address]} is wired too",
            allowed="one point at one address",
            remedy="correct one of the two addresses, or say that the two points are one line",
        )
    lane = lane_of(address)
    owner = placing.owners.get(lane, request.group) if lane else request.group
    if owner != request.group:
        return Unplaced(
            point,
            request.group,
            conflict=True,
            found=f"{point} is wired at {address}, among the contacts of {owner}",
            allowed=f"the eight contacts that are read together belong to one group, here {owner}",
            remedy=f"move its wire to a register, row or port of {request.group}",
        )
    return None


def _refused(point: str, request: GroupRequest, address: Address, kind: Places) -> Unplaced | None:
    """Return what the interface that the group now asks for has against an address."""
    objection = kind.admit(address)
    if objection is None:
        return None
    return Unplaced(
        point,
        request.group,
        conflict=True,
        found=f"{point} is wired for {request.interface}, but {objection.found}",
        allowed=objection.allowed,
        remedy=objection.remedy,
    )


def _place_rest(
    request: GroupRequest, placing: Placing, kind: Places, fixed: Mapping[str, Address]
) -> Iterable[Unplaced]:
    """Put what is not wired yet, in order of position; return the points for which there is no room."""
    rest = [place for place in request.places if place.point not in fixed]
    vacant = kind.own(request)
    for count, place in enumerate(rest):
        if not vacant:
            vacant = kind.fresh(request, len(rest) - count)
        if not vacant:
            return [_no_room(point, request, placing.board) for point in _points(rest[count:])]
        placing.put(vacant.pop(0), place.point, request.group)
    return []


def _no_room(point: str, request: GroupRequest, board: Board) -> Unplaced:
    if request.interface == "listen" and not board.strobe_ports:
        return _no_strobes(point, request, board)
    room = {
        "chain": "every register that the board can count is taken",
        "matrix": f"the board has no pins left for another row, or all {MOST_LANES} lanes are taken",
        "pins": f"the board has no free pin left, or all {MOST_LANES} lanes are taken",
        "converter": "every converter channel is taken",
        "multiplexer": f"every input of the board's banks is taken, their pins are, or all {MOST_LANES} lanes are",
        "expander": f"every port of the bus's {EXPANDERS} expanders is taken, the pins of the bus are, or all "
        f"{MOST_LANES} lanes are",
        "listen": _listening_room(request),
    }[request.interface]
    return Unplaced(
        point,
        request.group,
        conflict=False,
        found=f"{point} finds no place on {request.interface}",
        allowed=room,
        remedy="use a second board" if request.interface in ("chain", "listen") else "put the group on the chain",
    )


def _no_strobes(point: str, request: GroupRequest, board: Board) -> Unplaced:
    """Return what is the same of every point of a group that is to listen on a board that cannot."""
    able = [other.id for other in load_catalogue().boards.values() if other.strobe_ports]
    return Unplaced(
        point,
        request.group,
        conflict=False,
        found=f"{request.group} listens to the organ's scanner, and {board.id} has no port for its strobes",
        allowed=f"a board with a port of which each pin raises an interrupt: {', '.join(sorted(able))}",
        remedy="wish for such a board under wanted.board, or give the group contacts of its own",
    )


def _listening_room(request: GroupRequest) -> str:
    style = request.listen
    if style is None:
        return "too little of the organ's scanner was read"
    return (
        f"the board takes {MOST_STROBES} strobes on one port whose pins raise interrupts, and returns on whole ports; "
        f"here are {style.strobes} strobes and {style.returns} returns"
    )


def _strangers(requests: Iterable[GroupRequest], fixed: Mapping[str, Address]) -> list[Unplaced]:
    """Return wired points that no group asks for: nothing would read them."""
    asked = {point for request in requests for point in _points(request.places)}
    return [
        Unplaced(
            point,
            "",
            conflict=True,
            found=f"{point} is wired at {address}, but no group has such a point",
            allowed="addresses of points that are in the job",
            remedy="remove the address, or put the point back",
        )
        for point, address in fixed.items()
        if point not in asked
    ]
