"""What a fresh layout would move."""

from __future__ import annotations

from collections.abc import Mapping

from retrofit.scan.addresses import Address


def find_moves(recorded: Mapping[str, Address], proposed: Mapping[str, Address]) -> tuple[tuple[str, str, str], ...]:
    """Return (point, recorded address, proposed address) of each point in both whose address differs.

    The order is that of the proposal.  A point that is new, or no longer there, is no move.
    """
    return tuple(
        (point, str(recorded[point]), str(address))
        for point, address in proposed.items()
        if point in recorded and recorded[point] != address
    )
