"""The bytes that the scan finds: levels of the circuit, after what happens to them between an input and the board."""

from __future__ import annotations

from retrofit.rehearsal.standin.circuit import Circuit
from retrofit.rehearsal.standin.wiring import Place, Wiring


class Inputs:
    """The byte of every lane as the board reads it now.

    A place may show the level of another (the chain slipped by a clock), a constant (its data line is cut), or be
    low as well whenever another one is (a multiplexer's common that is read too soon keeps what it held).
    """

    def __init__(self, wiring: Wiring, circuit: Circuit) -> None:
        self._shown = {place: found for place, found in wiring.read_from.items() if isinstance(found, Place)}
        self._low_with = {place: other for place, other in wiring.bleeds.items() if place in self._shown}
        self._level = dict(circuit.at)
        self._watchers: dict[Place, list[Place]] = {}
        for place, source in self._shown.items():
            self._watchers.setdefault(source, []).append(place)
        for place, other in self._low_with.items():
            self._watchers.setdefault(self._shown.get(other, other), []).append(place)
        self.lanes = [0] * len(wiring.lanes)
        for place, found in wiring.read_from.items():
            self._put(place, found if isinstance(found, bool) else self._now(place))

    def take(self, changes: list[tuple[Place, bool]]) -> list[tuple[int, int]]:
        """Take changed levels of the circuit; return the lanes and the bits of them, as masks, that changed."""
        self._level.update(changes)
        return [
            (place.lane, 1 << place.bit)
            for source, _ in changes
            for place in self._watchers.get(source, ())
            if self._put(place, self._now(place))
        ]

    def _now(self, place: Place) -> bool:
        level = self._level[self._shown[place]]
        other = self._low_with.get(place)
        return level if other is None else level and self._level[self._shown.get(other, other)]

    def _put(self, place: Place, level: bool) -> bool:
        """Enter a bit; return whether it changed."""
        lane, mask = self.lanes[place.lane], 1 << place.bit
        if bool(lane & mask) == level:
            return False
        self.lanes[place.lane] = lane ^ mask
        return True
