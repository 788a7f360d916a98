"""A stand-in console without time: what it says once everything that is held has settled."""

from __future__ import annotations

from collections.abc import Iterable

from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.standin.board.table import board_table
from retrofit.rehearsal.standin.circuit import Circuit
from retrofit.rehearsal.standin.inputs import Inputs
from retrofit.rehearsal.standin.wiring import Making, Wiring


class StillConsole:
    """A console that answers at once; bounce, debounce and loose joints play no part in it."""

    def __init__(self, plan: ConversionPlan, wiring: Wiring) -> None:
        self._circuit = Circuit(wiring)
        self._inputs = Inputs(wiring, self._circuit)
        self._lanes = board_table(plan, wiring.reversed_groups, wiring.resets).lanes
        self._worked: dict[str, list[tuple[int, bool]]] = {}
        for number, contact in enumerate(wiring.contacts):
            if contact.making is Making.FOLLOWS:
                self._worked.setdefault(contact.worked_by, []).append((number, contact.closed_at_rest))

    def hold(self, points: Iterable[str]) -> frozenset[bytes]:
        """Return the on-messages of all contacts that the board takes for on while these points alone are held."""
        moved = [move for point in set(points) for move in self._worked.get(point, ())]
        for number, closed_at_rest in moved:
            self._inputs.take(self._circuit.contact(number, not closed_at_rest))
        heard = self._heard()
        for number, closed_at_rest in moved:
            self._inputs.take(self._circuit.contact(number, closed_at_rest))
        return heard

    def _heard(self) -> frozenset[bytes]:
        if self._circuit.powerless:
            return frozenset()
        return frozenset(
            lane.on[bit]
            for lane, level in zip(self._lanes, self._inputs.lanes, strict=True)
            for bit in range(8)
            if (level ^ lane.invert) & lane.used & 1 << bit and lane.on[bit]
        )
