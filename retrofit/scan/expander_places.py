"""Places on 16-bit port expanders of the two-wire bus.

A port of an expander is a lane and belongs to one group.  Seven of its eight pins take contacts: the eighth, GPA7 and
GPB7, is an output alone since the data sheet's revision D (Microchip DS20001952D, features), because a change of its
level while the port is read can upset the bus.
"""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.scan.addresses import Address, ExpanderAddress
from retrofit.scan.layout import Source
from retrofit.scan.placing import LANE_BITS, Objection, Placing
from retrofit.scan.requests import GroupRequest

EXPANDERS = 8
"""Three address pins tell so many apart on one bus (Microchip DS20001952C, device addressing)."""
PORTS = 2
INPUTS = LANE_BITS - 1
"""Pins of a port that take a contact."""


class ExpanderPlaces:
    """Ports of expanders for groups, and the two pins of the bus."""

    def __init__(self, placing: Placing) -> None:
        self._placing = placing

    def admit(self, address: Address) -> Objection | None:
        """Accept an input pin of an expander that the bus can have, and keep the pins of the bus."""
        if not isinstance(address, ExpanderAddress) or not _exists(address):
            return Objection(
                found=f"{address} is no input of an expander",
                allowed=f"expanders 1 to {EXPANDERS} with pins 0 to 6 and 8 to 14; 7 and 15 are outputs alone",
                remedy="wire it to one of these, or put the group on the chain",
            )
        return None if self._open() else self._bus_taken(address)

    def _bus_taken(self, address: Address) -> Objection:
        pins = " and ".join(self._placing.board.bus_pins)
        return Objection(
            found=f"{address} finds the pins of the bus taken",
            allowed=f"the two-wire bus of this board lies on pins {pins}",
            remedy="free these pins, or put the group on the chain",
        )

    def own(self, request: GroupRequest) -> list[Address]:
        """Return the vacant inputs of the group's ports."""
        ports = self._placing.lanes_of(request.group, Source.EXPANDER)
        return self._placing.vacant(address for expander, port in ports for address in inputs_of(int(expander), port))

    def fresh(self, _request: GroupRequest, _needed: int) -> list[Address]:
        """Return the inputs of the lowest port that nobody has."""
        for expander, port in ((e, p) for e in range(1, EXPANDERS + 1) for p in range(PORTS)):
            vacant = (Source.EXPANDER, str(expander), port) not in self._placing.owners
            if vacant and self._placing.has_lane_left() and self._open():
                return list(inputs_of(expander, port))
        return []

    def _open(self) -> bool:
        return bool(self._placing.board.bus_pins) and self._placing.keep(self._placing.board.bus_pins)


def inputs_of(expander: int, port: int) -> Iterator[ExpanderAddress]:
    """Yield the pins of a port that take contacts."""
    return (ExpanderAddress(expander, LANE_BITS * port + bit) for bit in range(INPUTS))


def _exists(address: ExpanderAddress) -> bool:
    port, bit = divmod(address.pin, LANE_BITS)
    return 1 <= address.expander <= EXPANDERS and port < PORTS and bit < INPUTS
