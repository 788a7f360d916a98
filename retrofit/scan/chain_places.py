"""Places on the shift-in chain.

Position p of a group lies on its register p // 8 at bit p % 8.  Bit 0 is the register's input A (D0); input H (D7),
bit 7, is the first to arrive at the board.
"""

from __future__ import annotations

from retrofit.scan.addresses import Address, ChainAddress
from retrofit.scan.layout import Source
from retrofit.scan.placing import Objection, Placing
from retrofit.scan.requests import GroupRequest


class ChainPlaces:
    """Registers for groups: each belongs to one group, lower numbers lie nearer to the board."""

    def __init__(self, placing: Placing) -> None:
        self._placing = placing

    def admit(self, address: Address) -> Objection | None:
        """Accept a bit of a register that the chain may have."""
        if isinstance(address, ChainAddress) and address.register < self._placing.registers_allowed():
            return None
        return Objection(
            found=f"{address} is not on the chain of this board",
            allowed=f"the chain has at most {self._placing.registers_allowed()} registers",
            remedy="wire it to a lower register, or use a second board",
        )

    def own(self, request: GroupRequest) -> list[Address]:
        """Return the vacant bits of the group's registers."""
        registers = self._placing.lanes_of(request.group, Source.CHAIN)
        return self._placing.vacant(bit for _, register in registers for bit in _bits(register))

    def fresh(self, _request: GroupRequest, _needed: int) -> list[Address]:
        """Return the bits of the lowest register that nobody has."""
        for register in range(self._placing.registers_allowed()):
            if (Source.CHAIN, "chain", register) not in self._placing.owners:
                return _bits(register)
        return []


def _bits(register: int) -> list[Address]:
    return [ChainAddress(register, bit) for bit in range(8)]
