"""Places on banks of multiplexers: the commons of up to eight lie on the bits of one port, read all at once.

Position p of a group lies on input p // 8 of the bank's multiplexer p % 8.  All banks share their select lines.  Which
pins a bank has follows from its number alone, as with matrices: an address names no pin, and wired pins must stay.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from retrofit.catalogue.parts import Board, Pin
from retrofit.scan.addresses import Address, MultiplexerAddress
from retrofit.scan.layout import Source
from retrofit.scan.placing import LANE_BITS, Objection, Placing
from retrofit.scan.requests import GroupRequest

MOST_INPUTS = 16
"""A multiplexer has eight or sixteen inputs."""
SELECT_LINES = 4


class MultiplexerPlaces:
    """Inputs for groups, eight at a time, and the pins behind them.  `inputs` says what each group on them asks for."""

    def __init__(self, placing: Placing, inputs: Mapping[str, int]) -> None:
        self._placing = placing
        self._inputs = inputs
        self._ports, self._select = _pins_for_banks(placing.board)

    def common_port(self, bank: int) -> str:
        """Return the port of a bank's commons."""
        return self._ports[bank - 1]

    def select_pins(self, inputs: int) -> list[Pin]:
        """Return the pins that select one of so many inputs, lowest first."""
        return self._select[: (inputs - 1).bit_length()]

    def inputs(self, bank: int) -> int:
        """Return how many inputs the multiplexers of a bank have: what its groups ask for, and as its wires need."""
        owners = {place: group for (_, where, place), group in self._lanes() if where == str(bank)}
        wired = max((MOST_INPUTS // 2 if place < MOST_INPUTS // 2 else MOST_INPUTS for place in owners), default=0)
        return max([wired, *(self._inputs[group] for group in owners.values())])

    def admit(self, address: Address) -> Objection | None:
        """Accept an input whose pins are there and free, and keep those pins."""
        if isinstance(address, MultiplexerAddress) and address.input < MOST_INPUTS:
            inputs = MOST_INPUTS if address.input >= MOST_INPUTS // 2 else MOST_INPUTS // 2
            if self._open((address.multiplexer - 1) // LANE_BITS + 1, inputs):
                return None
        return Objection(
            found=f"{address} finds no pins on this board",
            allowed=f"multiplexers 1 to {LANE_BITS * len(self._ports)} with inputs 0 to {MOST_INPUTS - 1}, on pins "
            "that nothing else uses",
            remedy="wire it to an input that exists, free its pins, or put the group on the chain",
        )

    def own(self, request: GroupRequest) -> list[Address]:
        """Return the vacant inputs among those that are read together with the group's."""
        lanes = self._placing.lanes_of(request.group, Source.MULTIPLEXER)
        return self._placing.vacant(address for bank, number in lanes for address in multiplexers_of(int(bank), number))

    def fresh(self, request: GroupRequest, _needed: int) -> list[Address]:
        """Return the eight of one more input of a bank: of the group's own bank, of one in use, or of a new one."""
        for bank in self._candidates(request):
            number = next(self._free_inputs(bank, request.multiplexer_inputs), None)
            if number is not None and self._placing.has_lane_left() and self._open(bank, request.multiplexer_inputs):
                return list(multiplexers_of(bank, number))
        return []

    def _lanes(self) -> Iterable[tuple[tuple[Source, str, int], str]]:
        return (entry for entry in self._placing.owners.items() if entry[0][0] is Source.MULTIPLEXER)

    def _candidates(self, request: GroupRequest) -> Iterator[int]:
        in_use = sorted({int(where) for (_, where, _), _ in self._lanes()})
        own = {int(bank) for bank, _ in self._placing.lanes_of(request.group, Source.MULTIPLEXER)}
        alike = [bank for bank in in_use if self.inputs(bank) == request.multiplexer_inputs]
        yield from sorted(alike, key=lambda bank: bank not in own)
        yield from (bank for bank in range(1, len(self._ports) + 1) if bank not in in_use)

    def _free_inputs(self, bank: int, inputs: int) -> Iterator[int]:
        return (n for n in range(inputs) if (Source.MULTIPLEXER, str(bank), n) not in self._placing.owners)

    def _open(self, bank: int, inputs: int) -> bool:
        """Keep the pins of a bank's commons and of all select lines; False, and nothing kept, when one is missing."""
        if not 1 <= bank <= len(self._ports):
            return False
        select = self.select_pins(max([inputs, *self._inputs.values()]))
        uses = {pin.name: f"multiplexer select {number}" for number, pin in enumerate(select)}
        for pin in self._placing.port_pins(self.common_port(bank)):
            uses[pin.name] = f"multiplexer {LANE_BITS * (bank - 1) + pin.bit + 1} common"
        return self._placing.keep(uses)


def multiplexers_of(bank: int, number: int) -> Iterator[MultiplexerAddress]:
    """Yield the addresses that selecting an input of a bank reads."""
    return (MultiplexerAddress(LANE_BITS * (bank - 1) + bit + 1, number) for bit in range(LANE_BITS))


def _pins_for_banks(board: Board) -> tuple[list[str], list[Pin]]:
    """Return the ports for commons, by bank number, and the pins of the select lines.

    Commons need ports without a reserved pin; those that matrices would take last come first, and the converter's first
    port is left to shoes.  Select lines lie on the last pins of broken ports, those of the converter only where there
    are too few others, and never on those of the two-wire bus.
    """
    pins = {port: [pin for pin in board.pins if pin.port == port] for port in board.ports}
    whole = [port for port in board.ports if len(pins[port]) == LANE_BITS and not any(p.reserved for p in pins[port])]
    shared = [port for port in whole if any(pin.converter is not None for pin in pins[port])]
    plain = [port for port in whole if port not in shared]
    loose = [p for p in board.pins if p.port not in whole and p.reserved is None and p.name not in board.bus_pins]
    loose.sort(key=lambda pin: pin.converter is None)
    return shared[:0:-1] + plain[::-1], loose[-SELECT_LINES:]
