"""Places on a keyboard that the organ scans: a key is where a strobe of the organ meets a return.

All strobes lie on one port of the board, of which each pin raises an interrupt; the returns of each group lie on whole
ports of their own.  Which port a return has follows from its number alone, as with matrices.
"""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.catalogue.parts import Board, Pin
from retrofit.scan.addresses import Address, ListenAddress
from retrofit.scan.layout import Source
from retrofit.scan.placing import LANE_BITS, Objection, Placing
from retrofit.scan.requests import GroupRequest, ListenStyle

MOST_STROBES = 8
"""A strobe is a bit of one port."""
MOST_PORTS = 4
"""Ports of returns in the firmware's table."""


class ListenPlaces:
    """Returns for groups, strobe by strobe, and the pins behind them."""

    def __init__(self, placing: Placing) -> None:
        self._placing = placing
        self._strobe_port = next(iter(placing.board.strobe_ports), None)
        self._return_ports = _ports_for_returns(placing.board, self._strobe_port)

    @property
    def strobe_port(self) -> str:
        """The port of the strobes; empty on a board that has none."""
        return self._strobe_port or ""

    def strobe_pins(self, strobes: int) -> list[Pin]:
        """Return the pins of the first strobes; fewer where the board has no more."""
        return [] if self._strobe_port is None else self._placing.port_pins(self._strobe_port)[:strobes]

    def return_port(self, bank: int) -> str:
        """Return the port of a bank of eight returns, banks counted from 0."""
        return self._return_ports[bank]

    def admit(self, address: Address) -> Objection | None:
        """Accept a crossing whose pins are there and free, and keep those pins."""
        if isinstance(address, ListenAddress):
            bank, bit = divmod(address.line, LANE_BITS)
            if bank < len(self._return_ports) and self._open(address.strobe + 1, {bank: bit + 1}):
                return None
        return Objection(
            found=f"{address} finds no pins on this board",
            allowed=f"strobes 0 to {len(self.strobe_pins(MOST_STROBES)) - 1}, returns 0 to "
            f"{LANE_BITS * len(self._return_ports) - 1}, on pins that nothing else uses"
            if self._strobe_port
            else "no strobes: none of this board's ports raises an interrupt for each pin",
            remedy="wire it to a strobe and a return that exist, or free their pins",
        )

    def own(self, request: GroupRequest) -> list[Address]:
        """Return the open crossings of the returns that a group already has."""
        banks = {int(where) - 1 for where, _ in self._placing.lanes_of(request.group, Source.LISTEN)}
        if request.listen is None or not banks or not self._open_block(request.listen, min(banks)):
            return []
        return self._placing.vacant(_crossings(request.listen, min(banks)))

    def fresh(self, request: GroupRequest, _needed: int) -> list[Address]:
        """Return every crossing of the group's strobes with as many returns as it has, in its order of wiring."""
        style = request.listen
        if style is None or self._placing.lanes_of(request.group, Source.LISTEN):
            return []
        for bank in range(len(self._return_ports) - style.banks + 1):
            taken = any(self._owned(other) for other in range(bank, bank + style.banks))
            if not taken and self._placing.has_lane_left() and self._open_block(style, bank):
                return list(_crossings(style, bank))
        return []

    def _owned(self, bank: int) -> bool:
        return any(lane[:2] == (Source.LISTEN, str(bank + 1)) for lane in self._placing.owners)

    def _open_block(self, style: ListenStyle, first: int) -> bool:
        left = {bank: min(LANE_BITS, style.returns - LANE_BITS * bank) for bank in range(style.banks)}
        return self._open(style.strobes, {first + bank: bits for bank, bits in left.items()})

    def _open(self, strobes: int, returns: dict[int, int]) -> bool:
        """Keep the pins of the first strobes, and of the first returns of banks; False when one is missing or taken."""
        pins = self.strobe_pins(strobes)
        if len(pins) < strobes or max(returns, default=0) >= len(self._return_ports):
            return False
        uses = {pin.name: f"strobe {number}" for number, pin in enumerate(pins)}
        for bank, bits in returns.items():
            for pin in self._placing.port_pins(self.return_port(bank))[:bits]:
                uses[pin.name] = f"return {LANE_BITS * bank + pin.bit}"
        return self._placing.keep(uses)


def _crossings(style: ListenStyle, bank: int) -> Iterator[ListenAddress]:
    first = LANE_BITS * bank
    if style.neighbours_share_strobe:
        for strobe in range(style.strobes):
            yield from (ListenAddress(strobe, first + line) for line in range(style.returns))
        return
    for line in range(style.returns):
        yield from (ListenAddress(strobe, first + line) for strobe in range(style.strobes))


def _ports_for_returns(board: Board, strobe_port: str | None) -> list[str]:
    """Return the ports for returns: whole ones without a reserved pin, those first that matrices would take last."""
    if strobe_port is None:
        return []
    pins = {port: [pin for pin in board.pins if pin.port == port] for port in board.ports}
    whole = [port for port in board.ports if len(pins[port]) == LANE_BITS and not any(p.reserved for p in pins[port])]
    plain = [port for port in whole if not any(pin.converter is not None for pin in pins[port])]
    shared = [port for port in whole if port not in plain and port != strobe_port]
    return [*plain[::-1], *shared][:MOST_PORTS]
