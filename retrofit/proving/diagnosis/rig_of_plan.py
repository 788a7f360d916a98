"""The rig of a plan: its connectors' pins, its lanes and its messages, as far as a diagnosis needs them."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.midi.messages import NOTE_ON
from retrofit.midi.names import note_name
from retrofit.plan.connectors import WAYS, Connector, connectors
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.proving.diagnosis.rig import Bus, Contact, Lane, Lead, Pin, Rig, Role
from retrofit.scan.layout import Lane as ScanLane
from retrofit.scan.layout import MatrixLayout, Source
from retrofit.survey.contacts import Group
from retrofit.survey.points import Point
from retrofit.survey.wiring import DiodeFound, Owner
from retrofit.survey.wishes import MatrixDrive, Sense

FIRST = 2
"""Pin of the first input, column or row."""
_LEVEL_RAILS = {"return": Role.RETURN, "supply": Role.SUPPLY}


def rig_of(plan: ConversionPlan) -> Rig:
    """Return the rig of a plan."""
    return _Drawer(plan).rig()


class _Drawer:
    def __init__(self, plan: ConversionPlan) -> None:
        self._plan = plan
        self._groups: dict[str, Group] = {group.id: group for group in plan.job.groups}
        self._points = {point.point.id: point for point in plan.points}
        self._lanes = {lane.index: lane for lane in plan.layout.lanes}
        self._contacts: dict[str, Contact] = {}
        self._leads: dict[Pin, Lead] = {}
        self._bus_pins: dict[str, list[Pin]] = {}
        self._batteries: set[str] = set()

    def rig(self) -> Rig:
        found = connectors(self._plan)
        plain = [lane for lane in self._plan.layout.lanes if lane.source is not Source.MATRIX]
        for lane, connector in zip(plain, found, strict=False):
            self._add_plain(lane, connector)
        for matrix, columns, rows in self._matrix_connectors(found[len(plain) :]):
            self._add_matrix(matrix, columns, rows)
        messages = {point.point.id: _first_message(point) for point in self._points.values() if _speaks(point)}
        return Rig(
            contacts=self._contacts,
            leads=self._leads,
            buses={name: Bus(tuple(pins), name in self._batteries) for name, pins in self._bus_pins.items()},
            lanes={lane.index: self._lane(lane) for lane in self._plan.layout.lanes},
            point_at={
                lane.index * 8 + bit: point
                for lane in self._plan.layout.lanes
                for bit, point in enumerate(lane.points)
                if point is not None and lane.used >> bit & 1 and point in messages
            },
            row_lanes={
                (int(lane.where), lane.place): lane.index
                for lane in self._lanes.values()
                if lane.source is Source.MATRIX
            },
            driven_high=frozenset(m.number for m in self._plan.layout.matrices if m.drive is MatrixDrive.PUSH_PULL),
            connector_words={connector.name: connector.where for connector in found},
            messages=messages,
            points_of={message: point for point, message in reversed(list(messages.items()))},
        )

    def _matrix_connectors(self, found: tuple[Connector, ...]) -> Iterator[tuple[MatrixLayout, Connector, Connector]]:
        yield from zip(self._plan.layout.matrices, found[::2], found[1::2], strict=True)

    def _lane(self, lane: ScanLane) -> Lane:
        return Lane(
            index=lane.index,
            group=lane.group,
            where=f"register {lane.place}" if lane.source is Source.CHAIN else f"{lane.source.value} {lane.where}",
            keyed_high=lane.source is not Source.MATRIX and self._keyed_high(lane),
            order=lane.place if lane.source is Source.CHAIN else None,
            bank=lane.where if lane.source is Source.MULTIPLEXER else "",
            input=lane.place,
        )

    def _keyed_high(self, lane: ScanLane) -> bool:
        """Return whether a closed contact makes the input high: what is turned round when read is keyed low."""
        for bit, point in enumerate(lane.points):
            if point is not None and lane.used >> bit & 1:
                return bool(lane.invert >> bit & 1) == self._points[point].point.closed_at_rest
        return False

    def _add_plain(self, lane: ScanLane, connector: Connector) -> None:
        for pin in connector.pins:
            if pin.signal in _LEVEL_RAILS:
                self._leads[Pin(connector.name, pin.number)] = Lead(_LEVEL_RAILS[pin.signal])
        keyed_high = self._keyed_high(lane)
        for bit, point in enumerate(lane.points):
            place = Pin(connector.name, bit + FIRST)
            self._leads[place] = Lead(Role.INPUT, lane.index * 8 + bit)
            if point is not None:
                found = self._points[point].point
                self._add(found, place, self._bus(found, connector.name, keyed_high))

    def _bus(self, point: Point, connector: str, keyed_high: bool) -> str:
        group = self._groups[point.group]
        name = f"{point.group} bus {_section(group, point.position)}".rstrip()
        ours = group.wanted.sense in (Sense.PULL_DOWN, Sense.SENSOR) and group.wiring.owner is not Owner.ORGAN
        pins = self._bus_pins.setdefault(name, [])
        pin = Pin(connector, WAYS if keyed_high and ours else 1)
        if pin not in pins:
            pins.append(pin)
        if keyed_high and not ours:
            self._batteries.add(name)
        return name

    def _add_matrix(self, matrix: MatrixLayout, columns: Connector, rows: Connector) -> None:
        for column in range(matrix.columns):
            self._leads[Pin(columns.name, column + FIRST)] = Lead(Role.COLUMN, column, matrix.number)
        for row in range(len(matrix.row_pins)):
            self._leads[Pin(rows.name, row + FIRST)] = Lead(Role.ROW, row, matrix.number)
        for lane in self._plan.layout.lanes:
            if lane.source is Source.MATRIX and lane.where == str(matrix.number):
                for column, point in enumerate(lane.points):
                    if point is not None:
                        found = self._points[point].point
                        self._add(found, Pin(columns.name, column + FIRST), Pin(rows.name, lane.place + FIRST))

    def _add(self, point: Point, line: Pin, bus: Pin | str) -> None:
        diode = isinstance(bus, Pin) and self._groups[point.group].wiring.diodes is not DiodeFound.NONE
        self._contacts[point.id] = Contact(
            point.id, point.group, point.position, _words(point), line, bus, point.note, point.closed_at_rest, diode
        )


def _section(group: Group, position: int) -> str:
    """Return the name of the survey's section of a group that a contact lies in, empty where there is none."""
    place = position + 1
    for common in group.wiring.commons:
        if common.first <= place and (common.last is None or place <= common.last):
            return common.name
    return ""


def _words(point: Point) -> str:
    if point.note is not None:
        return " ".join(filter(None, (point.group, point.name, f"{note_name(point.note)} ({point.note})")))
    return " ".join(filter(None, (point.name or point.id, point.footage)))


def _speaks(point: PointPlan) -> bool:
    return point.message is not None and bool(point.message.on) and point.point.takes_part


def _first_message(point: PointPlan) -> bytes:
    """Return what tells a point's first message: of a note its first two bytes, else all."""
    on = point.message.on if point.message is not None else b""
    return on[:2] if on[0] & 0xF0 == NOTE_ON else on
