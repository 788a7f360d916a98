"""The names by which the parts of a planned console are called when a fault is put into it."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import NamedTuple, TypeVar

from retrofit.midi.names import note_name
from retrofit.plan.connectors import WAYS, connectors
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.standin.wiring import Pin, input_pin
from retrofit.scan.layout import Source
from retrofit.survey.base import parse_note
from retrofit.survey.contacts import Condition
from retrofit.survey.points import Point, PointKind
from retrofit.survey.problems import did_you_mean, listed, shown

Read = TypeVar("Read")
_NO_FAULT = (Condition.DEAD, Condition.CIPHERING, Condition.NOT_FITTED, Condition.LEFT_OUT)
"""Points that are known to be missing or faulty: no fault is drawn for them."""


class FaultError(ValueError):
    """A fault that cannot be done; the text says what was found and what is allowed."""


class Crossing(NamedTuple):
    """The pins of a point on a matrix."""

    column: Pin
    row: Pin


class Names:
    """The parts of a console by name; `only` narrows what random faults are drawn from to some groups.

    `wired` are the pins at which a wire ends.  `pins` are those of points with a wire of their own, `crossings` those
    of points on a matrix.  `lanes` tells for each source, name and place of the scan the number of the lane, as for
    `(Source.CHAIN, "chain", 3)`.
    """

    def __init__(self, plan: ConversionPlan, wired: Iterable[Pin], only: Collection[str] = ()) -> None:
        self.wired = frozenset(wired)
        self.points = {p.point.id: p.point for p in plan.points if p.point.kind is not PointKind.SHOE}
        self.groups = [group.id for group in plan.groups]
        self.lanes = {(lane.source, lane.where, lane.place): lane.index for lane in plan.layout.lanes}
        self.registers = plan.layout.registers
        self.multiplexers = sorted(
            8 * (bank.number - 1) + n + 1 for bank in plan.layout.banks for n in range(bank.multiplexers)
        )
        self.expanders = list(plan.layout.expanders)
        self.lane_groups = [lane.group for lane in plan.layout.lanes]
        self._only = only
        self._connectors = connectors(plan)
        self.connectors = [connector.name for connector in self._connectors]
        plain = [lane for lane in plan.layout.lanes if lane.source is not Source.MATRIX]
        self.pins = {
            point: input_pin(connector.name, bit)
            for lane, connector in zip(plain, self._connectors, strict=False)
            for bit, point in enumerate(lane.points)
            if point is not None
        }
        self.matrices = {
            str(matrix.number): self._connectors[len(plain) + 2 * number :][:2]
            for number, matrix in enumerate(plan.layout.matrices)
        }
        self.plain_connectors = self.connectors[: len(plain)]
        self.crossings = {
            point: Crossing(input_pin(columns.name, bit), input_pin(rows.name, lane.place))
            for lane in plan.layout.lanes
            if lane.source is Source.MATRIX
            for columns, rows in [self.matrices[lane.where]]
            for bit, point in enumerate(lane.points)
            if point is not None
        }

    @property
    def inputs(self) -> frozenset[Pin]:
        """The pins that the board reads; rows of a matrix are driven instead."""
        columns = (input_pin(pair[0].name, bit) for pair in self.matrices.values() for bit in range(8))
        return frozenset((*(input_pin(name, bit) for name in self.plain_connectors for bit in range(8)), *columns))

    def drawn_groups(self) -> list[str]:
        """Return the groups that random faults concern."""
        return [group for group in self.groups if not self._only or group in self._only]

    def drawn_points(self, within: Mapping[str, object]) -> list[str]:
        """Return the points among these that are sound and whose group random faults concern."""
        groups = set(self.drawn_groups())
        return [
            point
            for point in within
            if self.points[point].group in groups and self.points[point].found.condition not in _NO_FAULT
        ]

    def drawn_connectors(self, *, matrix: bool | None = None) -> list[str]:
        """Return the connectors of those groups; only those of matrices, or only the others, when asked so."""
        groups = set(self.drawn_groups())
        of_matrices = {connector.name for pair in self.matrices.values() for connector in pair}
        return [
            connector.name
            for connector in self._connectors
            if groups & set(connector.group.split(", "))
            and (matrix is None or (connector.name in of_matrices) == matrix)
        ]

    def group_points(self, group: str) -> list[str]:
        """Return the wired points of a group in their order of wiring."""
        own = [p for p in self.points.values() if p.group == group and (p.id in self.pins or p.id in self.crossings)]
        return [point.id for point in sorted(own, key=lambda point: point.position)]

    def group_connectors(self, group: str) -> list[str]:
        """Return the connectors of a group."""
        return [connector.name for connector in self._connectors if group in connector.group.split(", ")]

    def drawn_wires(self) -> list[Pin]:
        """Return the pins of the wires that belong to those groups' points: their own, or their columns and rows."""
        own = [self.pins[point] for point in self.drawn_points(self.pins)]
        shared = (pin for point in self.drawn_points(self.crossings) for pin in self.crossings[point])
        return [*own, *dict.fromkeys(shared)]

    def wire_words(self, pin: Pin) -> str:
        """Return what a wire is called: by its point, or by its pin where it belongs to none or to several."""
        return next((self.words(point) for point, own in self.pins.items() if own == pin), str(pin))

    def words(self, point: str) -> str:
        """Return what a point is called: a key by its group and note, anything else by its id."""
        found = self.points[point]
        plain = found.note is not None and point == f"{found.group}.{found.note}"
        return f"{found.group} {note_name(found.note)}" if plain and found.note is not None else point

    def point(self, text: str) -> str:
        """Return the id of a point that is named by its id, by group and note, or by group and name."""
        words = " ".join(text.split())
        if words in self.points:
            return words
        group, _, rest = words.partition(" ")
        for point in self.points.values():
            if point.group == group and _is_called(point, rest):
                return point.id
        known = [*map(self.words, self.points), *self.points]
        raise FaultError(f"{shown(text)} found, allowed is a key or a contact such as {known[0]}" + _or(words, known))

    def wire(self, text: str) -> Pin:
        """Return the pin to which a wire leads that is named by its pin, or by its point where that has its own."""
        pin = self.pin(text)
        if pin in self.wired:
            return pin
        wired = listed(sorted(str(one) for one in self.wired if one.connector == pin.connector))
        raise FaultError(f"{shown(text)} found, where no wire ends; allowed in {pin.connector} are {wired}")

    def pin(self, text: str) -> Pin:
        """Return a pin by its own name, or the pin to which the wire of a point leads."""
        named = re.fullmatch(r"(J\d+)\.(\d+)", text.strip())
        if named:
            return self._pin(self.connector(named[1]), int(named[2]))
        point = self.point(text)
        if point in self.pins:
            return self.pins[point]
        if point in self.crossings:
            crossing = self.crossings[point]
            raise FaultError(
                f"{shown(text)} found, which has no wire of its own; allowed are {crossing.column} (its column) and "
                f"{crossing.row} (its row)"
            )
        raise FaultError(f"{shown(text)} found, which is not wired; allowed are points with an address")

    def _pin(self, connector: str, number: int) -> Pin:
        if not 1 <= number <= WAYS:
            raise FaultError(f"pin {number} of {connector} found, allowed are pins 1 to {WAYS}")
        return Pin(connector, number)

    def connector(self, text: str) -> str:
        """Return the name of a connector."""
        return self._one_of("connector", text, self.connectors)

    def group(self, text: str) -> str:
        """Return the id of a group."""
        return self._one_of("group", text, self.groups)

    def number(self, what: str, text: str, known: Sequence[int]) -> int:
        """Return a number among those that there are."""
        return int(self._one_of(what, text, [str(number) for number in known]))

    def _one_of(self, what: str, text: str, known: Sequence[str]) -> str:
        words = text.strip()
        if words in known:
            return words
        allowed = listed(known) if known else "none: the plan has no such part"
        raise FaultError(f"{shown(text)} found as a {what}, allowed are {allowed}" + _or(words, known))


def _is_called(point: Point, words: str) -> bool:
    if point.note is None:
        return words.casefold() in (point.name.casefold(), f"{point.name} {point.footage}".casefold())
    try:
        return parse_note(words) == point.note and point.id.count(".") == 1
    except ValueError:
        return False


def _or(words: str, known: Iterable[str]) -> str:
    remedy = did_you_mean(words, known)
    return f"; {remedy}" if remedy else ""


def both(text: str, read: Callable[[str], Read]) -> tuple[Read, Read]:
    """Return the two things named on both sides of an `and`, which may stand in a name too."""
    parts = re.split(r"\s+and\s+", text.strip())
    failure = FaultError(f"{shown(text)} found, allowed are two names with `and` between them")
    for middle in range(1, len(parts)):
        try:
            return read(" and ".join(parts[:middle])), read(" and ".join(parts[middle:]))
        except FaultError as error:
            failure = error
    raise failure
