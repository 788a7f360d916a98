"""The book that is kept while points are being placed: who has which address, lane and board pin."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from retrofit.catalogue.parts import Board, Pin
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
from retrofit.scan.layout import Source
from retrofit.scan.requests import GroupRequest

MOST_LANES = 255
"""The firmware counts lanes in one byte."""
LANE_BITS = 8
LaneKey = tuple[Source, str, int]
"""Source, where and place of a lane, as a lane states them."""


def lane_of(address: Address) -> LaneKey | None:
    """Return the lane that an address lies in; None for the converter, which has none."""
    lane: LaneKey | None
    match address:
        case ChainAddress(register, _):
            lane = (Source.CHAIN, "chain", register)
        case MatrixAddress(matrix, row, _):
            lane = (Source.MATRIX, str(matrix), row)
        case PinAddress(_, port, _):
            lane = (Source.PORT, port, 0)
        case MultiplexerAddress(multiplexer, number):
            lane = (Source.MULTIPLEXER, str((multiplexer - 1) // LANE_BITS + 1), number)
        case ExpanderAddress(expander, pin):
            lane = (Source.EXPANDER, str(expander), pin // LANE_BITS)
        case ListenAddress(strobe, line):
            lane = (Source.LISTEN, str(line // LANE_BITS + 1), strobe)
        case _:
            lane = None
    return lane


@dataclass(frozen=True, slots=True)
class Objection:
    """Why an address that is already wired cannot stand, what could, and the remedy."""

    found: str
    allowed: str
    remedy: str


class Places(Protocol):
    """The places that one kind of interface offers."""

    def admit(self, address: Address, /) -> Objection | None:
        """Make an address that is already wired ready for use; return what forbids it, or None."""

    def own(self, request: GroupRequest, /) -> list[Address]:
        """Return the open places of the lanes that a group already has."""

    def fresh(self, request: GroupRequest, needed: int, /) -> list[Address]:
        """Return the places of one more lane, for a group with `needed` contacts left; none when there is no room."""


@dataclass
class Placing:
    """The state of one layout in the making.

    `points` maps an address to its point, or to None for a place that is kept free.  `owners` maps a lane to its
    group.  `pins` maps a board pin to what it is used for.
    """

    board: Board
    points: dict[Address, str | None] = field(default_factory=dict)
    owners: dict[LaneKey, str] = field(default_factory=dict)
    pins: dict[str, str] = field(default_factory=dict)

    def put(self, address: Address, point: str | None, group: str) -> None:
        """Give an address to a point, and its lane to the point's group."""
        self.points[address] = point
        lane = lane_of(address)
        if lane is not None:
            self.owners[lane] = group
        pin = self._pin_of(address)
        if pin is not None:
            self.pins[pin] = point or f"kept free for {group}"

    def _pin_of(self, address: Address) -> str | None:
        if isinstance(address, ConverterAddress):
            return next(pin.name for pin in self.board.pins if pin.converter == address.channel)
        return address.pin if isinstance(address, PinAddress) else None

    def vacant(self, addresses: Iterable[Address]) -> list[Address]:
        """Return those addresses that nothing has been put at."""
        return [address for address in addresses if address not in self.points]

    def lanes_of(self, group: str, source: Source) -> list[tuple[str, int]]:
        """Return where and place of the lanes of one source that a group owns, rising."""
        return sorted(
            (where, place) for (found, where, place), owner in self.owners.items() if found is source and owner == group
        )

    def registers_allowed(self) -> int:
        """Return how many registers the chain may have beside the rows and ports that are read."""
        return MOST_LANES - sum(source is not Source.CHAIN for source, _, _ in self.owners)

    def has_lane_left(self) -> bool:
        """True when one more row or port can be counted beside the chain as it is."""
        registers = [place + 1 for source, _, place in self.owners if source is Source.CHAIN]
        return max(registers, default=0) < self.registers_allowed()

    def keep(self, uses: Mapping[str, str]) -> bool:
        """Keep pins for what they would be used for; False, and nothing kept, when one is taken for something else."""
        free = all(self.pins.get(name, use) == use for name, use in uses.items())
        if free:
            self.pins |= uses
        return free

    def is_free(self, pin: Pin) -> bool:
        """True for a pin that the board does not keep for itself and that nothing uses yet."""
        return pin.reserved is None and pin.name not in self.pins

    def port_pins(self, port: str) -> list[Pin]:
        """Return the pins of a port that the board does not keep for itself, by bit."""
        return sorted((p for p in self.board.pins if p.port == port and p.reserved is None), key=lambda pin: pin.bit)
