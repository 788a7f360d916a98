"""Places on the board's own pins: contacts on ports, and analogue channels.

A port is one lane, so it belongs to one group.  Position p of a group lies on the p-th usable bit of its ports.
"""

from __future__ import annotations

from retrofit.catalogue.parts import Pin
from retrofit.scan.addresses import Address, ConverterAddress, PinAddress
from retrofit.scan.layout import Source
from retrofit.scan.placing import Objection, Placing
from retrofit.scan.requests import GroupRequest


class PinPlaces:
    """Ports for groups of contacts wired straight to pins."""

    def __init__(self, placing: Placing) -> None:
        self._placing = placing

    def admit(self, address: Address) -> Objection | None:
        """Accept a pin that the board leaves free, under the port and bit that it really has."""
        pin = self._placing.board.pin(address.pin) if isinstance(address, PinAddress) else None
        if pin is not None and address == _address(pin) and self._placing.is_free(pin):
            return None
        return Objection(
            found=f"{address} {_objection_to(pin, address, self._placing)}",
            allowed="a pin that the board leaves free, written with its own port and bit",
            remedy="correct the address, or move the wire to a free pin",
        )

    def own(self, request: GroupRequest) -> list[Address]:
        """Return the vacant pins of the group's ports."""
        ports = self._placing.lanes_of(request.group, Source.PORT)
        return self._placing.vacant(_address(pin) for port, _ in ports for pin in self._free_pins(port))

    def fresh(self, _request: GroupRequest, needed: int) -> list[Address]:
        """Return the free pins of the smallest port that holds what is left, or else of the largest.

        Of equal ports the one that matrices would use last is taken.
        """
        if not self._placing.has_lane_left():
            return []
        ports = [port for port in self._last_choice_first() if (Source.PORT, port, 0) not in self._placing.owners]
        sizes = {port: len(self._free_pins(port)) for port in ports}
        large_enough = [port for port in ports if sizes[port] >= needed]
        if large_enough:
            best = min(large_enough, key=sizes.__getitem__)
        else:
            best = max(ports, key=sizes.__getitem__, default="")
        return [_address(pin) for pin in self._free_pins(best)]

    def _last_choice_first(self) -> list[str]:
        board = self._placing.board
        shared = {pin.port for pin in board.pins if pin.converter is not None}
        backwards = board.ports[::-1]
        return [port for port in backwards if port in shared] + [port for port in backwards if port not in shared]

    def _free_pins(self, port: str) -> list[Pin]:
        return [pin for pin in self._placing.port_pins(port) if self._placing.is_free(pin)]


class ConverterPlaces:
    """Channels of the analogue converter, each on a pin of its own."""

    def __init__(self, placing: Placing) -> None:
        self._placing = placing
        self._pins = {pin.converter: pin for pin in placing.board.pins if pin.converter is not None}

    def admit(self, address: Address) -> Objection | None:
        """Accept a channel that the board has and whose pin is free."""
        pin = self._pins.get(address.channel) if isinstance(address, ConverterAddress) else None
        if pin is not None and self._placing.is_free(pin):
            return None
        return Objection(
            found=f"{address} {_objection_to(pin, address, self._placing)}",
            allowed=f"the board has converter channels 0 to {len(self._pins) - 1}",
            remedy="correct the address, or move the wire to a free channel",
        )

    def own(self, _request: GroupRequest) -> list[Address]:
        """Return nothing: a channel belongs to one point, no lane to fill."""
        return []

    def fresh(self, _request: GroupRequest, needed: int) -> list[Address]:
        """Return the lowest free channels."""
        free = [channel for channel, pin in sorted(self._pins.items()) if self._placing.is_free(pin)]
        return [ConverterAddress(channel) for channel in free[:needed]]


def _address(pin: Pin) -> PinAddress:
    return PinAddress(pin.name, pin.port, pin.bit)


def _objection_to(pin: Pin | None, address: Address, placing: Placing) -> str:
    if pin is None:
        return "is not on this board"
    if isinstance(address, PinAddress) and address != _address(pin):
        return f"does not exist: pin {pin.name} is {pin.port}{pin.bit}"
    return f"is kept for {pin.reserved or placing.pins[pin.name]}"
