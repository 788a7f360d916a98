"""Connectors between the contacts and the registers, ports and matrices, seen from the side one is looking at.

Each is a ten-way header of two rows.  Pin 1 is the return and pin 10 the spare, so that the eight inputs lie in the
middle: a plug turned round runs its inputs backwards and joins the return to the spare, which is left open unless the
group needs a supply.  A matrix has one header for its columns and one for its rows, both ends of them open.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from retrofit.plan.model import ConversionPlan
from retrofit.scan.layout import Lane, MatrixLayout, Source
from retrofit.survey.wishes import Sense

WAYS, COLUMNS = 10, 5
INPUT_LETTERS = "ABCDEFGH"
"""Inputs of a register by bit, bit 0 first."""
OPEN = "open"
_SUPPLIED = (Sense.SENSOR, Sense.PULL_DOWN)
"""Ways of sensing whose contacts or sensors are joined to our supply."""


class Side(StrEnum):
    """Where one looks from: into the plug or header, or at the joints behind it."""

    MATING = "mating side"
    SOLDER = "solder side"


@dataclass(frozen=True, slots=True)
class ConnectorPin:
    """A pin with what it carries; `point` and `label` are those of the contact, empty where there is none."""

    number: int
    signal: str
    point: str = ""
    label: str = ""


@dataclass(frozen=True, slots=True)
class Connector:
    """A connector with its pins from 1 to 10; `where` is what it leads to."""

    name: str
    where: str
    group: str
    pins: tuple[ConnectorPin, ...]

    def seen_from(self, side: Side) -> tuple[tuple[ConnectorPin, ...], ...]:
        """Return the two rows of pins as they lie before the eye, pin 1 at the left on the mating side.

        The solder side is the mating side turned about its upright axis: left and right are exchanged, rows are not.
        """
        rows = tuple(self.pins[row::2] for row in range(2))
        return rows if side is Side.MATING else tuple(row[::-1] for row in rows)


def connectors(plan: ConversionPlan) -> tuple[Connector, ...]:
    """Return the connectors of a plan in reading order, named J1 upward."""
    names = {point.point.id: point.point.name for point in plan.points}
    senses = {group.id: group.wanted.sense for group in plan.job.groups}
    found = [
        *(_of_lane(lane, names, senses[lane.group]) for lane in plan.layout.lanes if lane.source is not Source.MATRIX),
        *(connector for matrix in plan.layout.matrices for connector in _of_matrix(matrix, plan)),
    ]
    return tuple(Connector(f"J{number}", where, group, pins) for number, (where, group, pins) in enumerate(found, 1))


_Unnamed = tuple[str, str, tuple[ConnectorPin, ...]]


def _of_lane(lane: Lane, names: Mapping[str, str], sense: Sense) -> _Unnamed:
    inputs = (
        ConnectorPin(bit + 2, _input_word(lane, bit), point or "", names.get(point or "", ""))
        for bit, point in enumerate(lane.points)
    )
    last = ConnectorPin(WAYS, "supply" if sense in _SUPPLIED else "spare, left open")
    where = f"chain register {lane.place}" if lane.source is Source.CHAIN else f"{lane.source.value} {lane.where}"
    return where, lane.group, (ConnectorPin(1, "return"), *inputs, last)


def _input_word(lane: Lane, bit: int) -> str:
    return f"input {INPUT_LETTERS[bit]}" if lane.source is Source.CHAIN else f"bit {bit}"


def _of_matrix(matrix: MatrixLayout, plan: ConversionPlan) -> Iterator[_Unnamed]:
    """Yield the headers of a matrix's columns and of its rows, which carry no single point."""
    lanes = (lane for lane in plan.layout.lanes if lane.source is Source.MATRIX)
    groups = ", ".join(dict.fromkeys(lane.group for lane in lanes if lane.where == str(matrix.number)))
    for word, number in (("column", matrix.columns), ("row", len(matrix.row_pins))):
        signals = [f"{word} {n}" if n < number else OPEN for n in range(WAYS - 2)]
        pins = tuple(ConnectorPin(n, signal) for n, signal in enumerate((OPEN, *signals, OPEN), 1))
        yield f"matrix {matrix.number} {word}s", groups, pins
