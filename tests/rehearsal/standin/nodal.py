"""The volts at a stand-in's inputs by nodal analysis: Kirchhoff's current law at every node, solved by Newton's method.

Written from the parts of the wiring alone, each with a resistance or the diode equation (W. Shockley, Bell System
Technical Journal 28, 1949); it knows of no ways, drops, islands or joined metal.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from retrofit.rehearsal.standin.wiring import RETURN, SUPPLY, Diode, LaneInputs, Making, Node, Wiring

SUPPLY_VOLTS = 5.0
WIRE_S, CONTACT_S, PULL_S, DRIVER_S = 1 / 0.05, 1 / 0.2, 1 / 10_000, 1 / 25
LEAK_S = 1e-9
"""Of every node to the return, so that none floats."""
SATURATION_A, SLOPE_V = 6.4e-10, 0.0462
"""A silicon diode of 0.62 V at 0.43 mA."""
LIMIT_V = 0.9

Volts = npt.NDArray[np.floating]


class Network:
    """The network of a wiring with some contacts closed, while one lane is read."""

    def __init__(self, wiring: Wiring, closed: set[int], lane: LaneInputs) -> None:
        """Number the nodes and enter the parts."""
        self._index: dict[Node, int] = {}
        self._resistors: list[tuple[int, int, float]] = []
        self._sources: list[tuple[int, float, float]] = []
        self._batteries: list[tuple[int, int]] = []
        self._diodes: list[tuple[int, int]] = []
        for one, other in _joints(wiring):
            self._resistors.append((self._node(one), self._node(other), WIRE_S))
        for number, contact in enumerate(wiring.contacts):
            if contact.making is Making.ALWAYS or (number in closed and contact.making is Making.FOLLOWS):
                self._close(contact.line, contact.bus, contact.diode)
        self._feed(wiring, lane)

    def _node(self, name: Node) -> int:
        return self._index.setdefault(name, len(self._index))

    def _close(self, line: Node, bus: Node, diode: Diode) -> None:
        one, other = self._node(line), self._node(bus)
        match diode:
            case Diode.NONE | Diode.SHORTED:
                self._resistors.append((one, other, CONTACT_S))
            case Diode.SOUND:
                self._diodes.append((one, other))
            case Diode.REVERSED:
                self._diodes.append((other, one))

    def _feed(self, wiring: Wiring, lane: LaneInputs) -> None:
        self._sources += [(self._node(RETURN), 0.0, WIRE_S), (self._node(SUPPLY), SUPPLY_VOLTS, WIRE_S)]
        self._sources += [(self._node(row), 0.0, DRIVER_S) for row in lane.low]
        self._sources += [(self._node(row), SUPPLY_VOLTS, DRIVER_S) for row in lane.high]
        self._batteries = [(self._node(hot), self._node(ground)) for hot, ground in wiring.batteries.items()]
        pulled = {node: SUPPLY_VOLTS * (not other.keyed_level) for other in wiring.lanes for node in other.nodes}
        self._sources += [(self._node(node), volts, PULL_S) for node, volts in pulled.items()]

    def volts(self, nodes: tuple[Node, ...]) -> list[float]:
        """Return the volts of some nodes against the return."""
        solved = self._solve()
        return [float(solved[self._index[node]]) for node in nodes]

    def _solve(self) -> Volts:
        fixed, currents = self._linear()
        volts = np.full(len(self._index), SUPPLY_VOLTS / 2)
        for _ in range(500):
            matrix, right = fixed.copy(), currents.copy()
            for anode, cathode in self._diodes:
                _stamp_diode(matrix, right, anode, cathode, volts[anode] - volts[cathode])
            found: Volts = np.linalg.solve(matrix, right)
            step = found - volts
            if np.abs(step).max() < 1e-6:
                return found
            volts += np.clip(step, -0.25, 0.25)
        raise AssertionError("the network was not solved")

    def _linear(self) -> tuple[Volts, Volts]:
        matrix = np.eye(len(self._index)) * LEAK_S
        right = np.zeros(len(self._index))
        for one, other, siemens in self._resistors:
            _stamp(matrix, one, other, siemens)
        for node, volts, siemens in self._sources:
            matrix[node, node] += siemens
            right[node] += siemens * volts
        for hot, ground in self._batteries:
            _stamp(matrix, hot, ground, WIRE_S)
            right[hot] += WIRE_S * SUPPLY_VOLTS
            right[ground] -= WIRE_S * SUPPLY_VOLTS
        return matrix, right


def _joints(wiring: Wiring) -> Iterator[tuple[Node, Node]]:
    yield from wiring.joins
    for wire in (*wiring.wires.values(), *wiring.feeds.values()):
        if wire.outer is not None:
            yield wire.inner, wire.outer
    for plug, header in wiring.mated.items():
        if header is not None:
            yield plug.plug, header.header
    for pin, node in wiring.leads.items():
        yield pin.header, node


def _stamp(matrix: Volts, one: int, other: int, siemens: float) -> None:
    matrix[one, one] += siemens
    matrix[other, other] += siemens
    matrix[one, other] -= siemens
    matrix[other, one] -= siemens


def _stamp_diode(matrix: Volts, right: Volts, anode: int, cathode: int, across: float) -> None:
    """Enter a diode as its tangent at the volts across it."""
    across = min(across, LIMIT_V)
    grown = np.exp(across / SLOPE_V)
    siemens = max(SATURATION_A / SLOPE_V * grown, 1e-12)
    rest = SATURATION_A * (grown - 1) - siemens * across
    _stamp(matrix, anode, cathode, siemens)
    right[anode] -= rest
    right[cathode] += rest
