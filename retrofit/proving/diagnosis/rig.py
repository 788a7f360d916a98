"""What a diagnosis knows of a console: which contact lies on which wires, where these are plugged, what is read there.

A contact lies between a line and a bus.  Each has a wire to a pin of a plug; in a matrix the bus is a row's wire, else
all contacts of a section share one bus, which has a pin in each plug of theirs.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import NamedTuple


class Pin(NamedTuple):
    """A pin of a connector; it also names the wire that the plan leads there."""

    connector: str
    number: int

    def __str__(self) -> str:
        return f"{self.connector}.{self.number}"


class Role(StrEnum):
    """What the board has behind a pin."""

    INPUT = "input"
    COLUMN = "column"
    ROW = "row"
    RETURN = "return"
    SUPPLY = "supply"


class Lead(NamedTuple):
    """What a pin leads to: an input's place, or the number of a column or a row with that of its matrix."""

    role: Role
    number: int = 0
    matrix: int = 0


@dataclass(frozen=True, slots=True)
class Contact:
    """A contact with the wire of its line and its bus: a row's wire, or the name of a shared bus."""

    point: str
    group: str
    position: int
    words: str
    line: Pin
    bus: Pin | str
    note: int | None = None
    closed_at_rest: bool = False
    diode: bool = False


@dataclass(frozen=True, slots=True)
class Bus:
    """A shared bus: the pins by which it reaches the board, and whether the organ's own battery feeds it."""

    pins: tuple[Pin, ...]
    battery: bool = False


@dataclass(frozen=True, slots=True)
class Lane:
    """Eight places that are read together: what they are, of which group, and the level of a keyed line.

    `order` is the number of a register in its chain, or None where places are not shifted.  `bank` tells multiplexers
    that share their select lines from others; `where` is what the user calls it.
    """

    index: int
    group: str
    where: str
    keyed_high: bool = False
    order: int | None = None
    bank: str = ""
    input: int = 0


@dataclass(frozen=True)
class Rig:
    """A console as the plan has it.  A place is the number of its lane times eight plus its bit.

    `driven_high` are the matrices whose idle rows are driven high.  `row_lanes` leads from matrix and row to the lane.
    `messages` are the first messages of the points, `points_of` leads back from a message.  `remembered` is what links
    between nodes that no fault has joined are known to key.
    """

    contacts: dict[str, Contact]
    leads: dict[Pin, Lead]
    buses: dict[str, Bus]
    lanes: dict[int, Lane]
    point_at: dict[int, str]
    row_lanes: dict[tuple[int, int], int] = field(default_factory=dict)
    driven_high: frozenset[int] = frozenset()
    connector_words: dict[str, str] = field(default_factory=dict)
    messages: dict[str, bytes] = field(default_factory=dict)
    points_of: dict[bytes, str] = field(default_factory=dict)
    remembered: dict[tuple[object, int], frozenset[int]] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def input_pins(self) -> dict[int, Pin]:
        """The pin behind which each place of an input is read."""
        return {lead.number: pin for pin, lead in self.leads.items() if lead.role is Role.INPUT}

    def group(self, group: str) -> list[Contact]:
        """Return the contacts of a group in order."""
        return sorted((c for c in self.contacts.values() if c.group == group), key=lambda contact: contact.position)

    def matrix_of(self, contact: Contact) -> int | None:
        """Return the number of the matrix that a contact lies in, or None."""
        lead = self.leads[contact.line]
        return lead.matrix if lead.role is Role.COLUMN else None
