"""The sound wiring of a plan: every contact to its line and bus, every wire to the pin that the plan gives it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from retrofit.catalogue.figures import CatalogueError
from retrofit.catalogue.load import Catalogue
from retrofit.circuits.pullup import PULL_UP_OHMS
from retrofit.circuits.sense.logic_input import pin_input
from retrofit.circuits.sense.matrix_network import forward_volts
from retrofit.plan.connectors import WAYS, Connector, connectors
from retrofit.plan.matrix_scan import matrix_diode
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.standin.wiring import (
    RETURN,
    SUPPLY,
    Contact,
    Diode,
    LaneInputs,
    Making,
    Node,
    Pin,
    Place,
    Wire,
    Wiring,
    input_pin,
    return_pin,
    supply_pin,
)
from retrofit.scan.layout import Lane, MatrixLayout, Source
from retrofit.survey.contacts import Condition, Group
from retrofit.survey.points import Point
from retrofit.survey.wiring import DiodeFound, Owner
from retrofit.survey.wishes import MatrixDrive, Sense

ROOM_CELSIUS = 25.0
_MAKING = {
    Condition.DEAD: Making.NEVER,
    Condition.NOT_FITTED: Making.NEVER,
    Condition.CIPHERING: Making.ALWAYS,
}


def wiring_of(plan: ConversionPlan, catalogue: Catalogue, most_drops: int | None = None) -> Wiring:
    """Return the wiring of a plan as it is meant to be.

    `most_drops` is the most diodes in a row through which a matrix is read; where it is not given, those through which
    it is read for certain.
    """
    builder = _Builder(plan, catalogue, most_drops)
    lanes = [lane for lane in plan.layout.lanes if lane.source is not Source.MATRIX]
    found = connectors(plan)
    for lane, connector in zip(lanes, found, strict=False):
        builder.add_plain(lane, connector)
    for number, matrix in enumerate(plan.layout.matrices):
        columns, rows = found[len(lanes) + 2 * number :][:2]
        builder.add_matrix(matrix, columns, rows)
    return builder.finished()


@dataclass(frozen=True, slots=True)
class _Rail:
    """What keys the lines of a group: the level, the pin by which its bus reaches the board, and the rail there."""

    level: bool
    pin: int
    battery: bool


class _Builder:
    def __init__(self, plan: ConversionPlan, catalogue: Catalogue, most_drops: int | None) -> None:
        self._plan, self._catalogue, self._most_drops_given = plan, catalogue, most_drops
        self._groups = {group.id: group for group in plan.job.groups}
        self._points = {point.point.id: point.point for point in plan.points}
        self._twins: dict[str, list[Point]] = {}
        for point in self._points.values():
            if point.same_line_as is not None:
                self._twins.setdefault(point.same_line_as, []).append(point)
        self._wiring = Wiring()
        self._lanes: dict[int, LaneInputs] = {}

    def finished(self) -> Wiring:
        self._wiring.lanes = [self._lanes[index] for index in sorted(self._lanes)]
        self._wiring.read_from = {
            Place(lane.index, bit): Place(lane.index, bit) for lane in self._plan.layout.lanes for bit in range(8)
        }
        return self._wiring

    def add_plain(self, lane: Lane, connector: Connector) -> None:
        """Add eight inputs with their connector, wires and contacts."""
        group = self._groups[lane.group]
        rail = _rail(group, self._keyed_level(lane))
        name = connector.name
        nodes = tuple(f"{name} input {bit}" for bit in range(8))
        self._wiring.plug_in(name)
        self._wiring.leads |= {input_pin(name, bit): node for bit, node in enumerate(nodes)}
        self._wiring.leads[return_pin(name)] = RETURN
        if connector.pins[-1].signal == "supply":
            self._wiring.leads[supply_pin(name)] = SUPPLY
        self._lanes[lane.index] = LaneInputs(lane.group, nodes, keyed_level=rail.level)
        for bit, point in enumerate(lane.points):
            if point is not None:
                self._wire_point(self._points[point], input_pin(name, bit), rail)

    def _keyed_level(self, lane: Lane) -> bool:
        """Return the level of a keyed line: the board reverses it where "on" is low, as with contacts open at rest."""
        for bit, point in enumerate(lane.points):
            if point is not None and lane.used >> bit & 1:
                return bool(lane.invert >> bit & 1) == self._points[point].closed_at_rest
        return False

    def _wire_point(self, point: Point, pin: Pin, rail: _Rail) -> None:
        line = f"{point.id} tag"
        self._wiring.wires[pin] = Wire(line, pin.plug)
        for one in (point, *self._twins.get(point.id, ())):
            bus = self._bus(one, pin.connector, rail)
            self._wiring.contacts.append(_contact(one, line, bus))

    def _bus(self, point: Point, connector: str, rail: _Rail) -> Node:
        """Return the bus of a contact; its feed and the lead from there to this connector are put in when missing."""
        bus = f"{point.group} bus {_section(self._groups[point.group], point.position)}".rstrip()
        feed = f"{bus} feed"
        self._wiring.feeds.setdefault(bus, Wire(bus, feed))
        if rail.battery:
            feed = self._wiring.batteries.setdefault(feed, f"{bus} ground")
        lead = Pin(connector, rail.pin)
        common = f"{lead} lead"
        self._wiring.wires.setdefault(lead, Wire(common, lead.plug))
        if (common, feed) not in self._wiring.joins:
            self._wiring.joins.append((common, feed))
        return bus

    def add_matrix(self, matrix: MatrixLayout, columns: Connector, rows: Connector) -> None:
        """Add a matrix with its two connectors, its wires, and a contact with its diode at each crossing."""
        column_nodes = self._add_buses(columns.name, f"matrix {matrix.number} column", matrix.columns)
        row_nodes = self._add_buses(rows.name, f"matrix {matrix.number} row", len(matrix.row_pins))
        for lane in self._plan.layout.lanes:
            if lane.source is Source.MATRIX and lane.where == str(matrix.number):
                self._add_row(lane, matrix, column_nodes, row_nodes)

    def _add_buses(self, connector: str, words: str, count: int) -> list[Node]:
        """Wire the buses of one kind to their plug; return the nodes of the board behind its header."""
        self._wiring.plug_in(connector)
        nodes = [f"{words} {n} pin" for n in range(count)]
        for n, node in enumerate(nodes):
            pin = input_pin(connector, n)
            self._wiring.wires[pin] = Wire(f"{words} {n}", pin.plug)
            self._wiring.leads[pin] = node
        return nodes

    def _add_row(self, lane: Lane, matrix: MatrixLayout, columns: Sequence[Node], rows: Sequence[Node]) -> None:
        group = self._groups[lane.group]
        others = tuple(row for row in rows if row != rows[lane.place])
        self._lanes[lane.index] = LaneInputs(
            group=lane.group,
            nodes=(*columns, *(f"matrix {matrix.number} column {n} pin" for n in range(len(columns), 8))),
            low=(rows[lane.place],),
            high=others if matrix.drive is MatrixDrive.PUSH_PULL else (),
            most_drops=self._most_drops(group),
        )
        for column, point in enumerate(lane.points):
            if point is not None:
                for one in (self._points[point], *self._twins.get(point, ())):
                    line = f"matrix {matrix.number} column {column}"
                    row = f"matrix {matrix.number} row {lane.place}"
                    self._wiring.contacts.append(_contact(one, line, row, _diode(group)))

    def _most_drops(self, group: Group) -> int:
        """Return the most diodes in a row through which a column is low for certain at room temperature.

        One where the figures are not printed: a sound key must be read at all.
        """
        if self._most_drops_given is not None:
            return self._most_drops_given
        board = self._catalogue.boards[self._plan.board]
        behind = pin_input(board)
        supply = board.figures["supply"].usual
        try:
            drop = forward_volts(matrix_diode(group, self._catalogue), supply / PULL_UP_OHMS, ROOM_CELSIUS)
        except CatalogueError:
            return 1
        return max(1, floor(behind.vil(supply) / drop))


def _rail(group: Group, keyed_level: bool) -> _Rail:
    """Return what keys a group's lines.

    A line that the organ feeds is keyed by the organ's supply, whose return is ours; behind a circuit that turns it
    round the input goes low, which is as a contact to our return.
    """
    if not keyed_level:
        return _Rail(False, 1, battery=False)
    ours = group.wanted.sense in (Sense.PULL_DOWN, Sense.SENSOR) and group.wiring.owner is not Owner.ORGAN
    return _Rail(True, WAYS, battery=False) if ours else _Rail(True, 1, battery=True)


def _section(group: Group, position: int) -> str:
    """Return the name of the run of contacts that shares a bus with this one; empty where the survey names none."""
    place = position + 1
    sections = (c.name for c in group.wiring.commons if c.first <= place and (c.last is None or place <= c.last))
    return next(sections, "")


def _diode(group: Group) -> Diode:
    return Diode.NONE if group.wiring.diodes is DiodeFound.NONE else Diode.SOUND


def _contact(point: Point, line: Node, bus: Node, diode: Diode = Diode.NONE) -> Contact:
    return Contact(
        point=point.id,
        worked_by=point.id,
        line=line,
        bus=bus,
        diode=diode,
        closed_at_rest=point.closed_at_rest,
        making=_MAKING.get(point.found.condition, Making.FOLLOWS),
    )
