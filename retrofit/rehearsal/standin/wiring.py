"""The wires of a stand-in console as they can be cut, joined and exchanged: contacts, plugs, headers and the board.

A contact lies between a line and its bus, in a matrix between a column and a row.  From each of these a wire leads to a
pin of a plug; the plug sits on a header, whose pins lead to inputs, row drivers or rails of the board.  Nothing here
knows of lanes' debounce or of messages, and no fault is told in addresses: faults change the wires, and what then
comes of it is read from the network.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple

from retrofit.plan.connectors import WAYS

Node = str
"""A piece of metal: everything that is joined without a switch or a diode."""
RETURN, SUPPLY = "return", "supply"
"""The board's two rails."""


class Pin(NamedTuple):
    """A pin of a connector, counted from 1; plug and header have pins of the same names."""

    connector: str
    number: int

    def __str__(self) -> str:
        return f"{self.connector}.{self.number}"

    @property
    def plug(self) -> Node:
        """The pin in the plug, at the end of a wire."""
        return f"{self} plug"

    @property
    def header(self) -> Node:
        """The pin of the header on the board."""
        return f"{self} header"


FIRST_INPUT = 2
"""Bit 0, column 0 and row 0 lie on this pin of their connector."""


def input_pin(connector: str, bit: int) -> Pin:
    """Return the pin of a bit, a column or a row."""
    return Pin(connector, bit + FIRST_INPUT)


def return_pin(connector: str) -> Pin:
    """Return the pin of the return."""
    return Pin(connector, 1)


def supply_pin(connector: str) -> Pin:
    """Return the pin of the supply, or the spare."""
    return Pin(connector, WAYS)


class Place(NamedTuple):
    """A bit that the board reads: number of the lane in reading order, and bit."""

    lane: int
    bit: int


class Diode(StrEnum):
    """What stands in series with a contact, seen from the line (or column) to the bus (or row)."""

    NONE = "none"
    SOUND = "sound"
    REVERSED = "reversed"
    SHORTED = "shorted"
    OPEN = "open"


class Making(StrEnum):
    """Whether a contact follows the hand."""

    FOLLOWS = "follows"
    NEVER = "never makes"
    ALWAYS = "always made"


@dataclass(slots=True)
class Contact:
    """A contact between `line` and `bus`, moved by the control `worked_by`.

    `lag_us` is how long a line stays keyed when the contact opens.  `chatters` is True where a dirty contact breaks
    again and again while it is held.
    """

    point: str
    worked_by: str
    line: Node
    bus: Node
    diode: Diode = Diode.NONE
    closed_at_rest: bool = False
    making: Making = Making.FOLLOWS
    lag_us: int = 0
    chatters: bool = False

    @property
    def closed_untouched(self) -> bool:
        """Whether it is closed while nobody touches the control."""
        return self.making is Making.ALWAYS or (self.making is Making.FOLLOWS and self.closed_at_rest)


@dataclass(slots=True)
class Wire:
    """A wire with its two ends; one that is cut has an end in the air (None)."""

    inner: Node
    outer: Node | None


@dataclass(frozen=True, slots=True)
class Flicker:
    """How a joint comes and goes: breaks of `gap_us` every `period_us`, or at random with these as mean times."""

    period_us: float
    gap_us: float
    regular: bool


@dataclass(frozen=True, slots=True)
class LaneInputs:
    """What the board reads as one byte: the node behind each bit, and the rows that it pulls low and drives high.

    `keyed_level` is the level of an input whose line is keyed; otherwise its resistor pulls it to the other one.
    `most_drops` is the most diodes in a row through which a level is still read; through one it must be.
    """

    group: str
    nodes: tuple[Node, ...]
    low: tuple[Node, ...] = ()
    high: tuple[Node, ...] = ()
    keyed_level: bool = False
    most_drops: int = 1


@dataclass(frozen=True, slots=True)
class Reset:
    """Settings of a group in the board that differ from the plan: channel (1-16), and semitones added to each note."""

    channel: int | None = None
    semitones: int = 0


@dataclass(slots=True)
class Wiring:
    """A console's wiring, sound at first; faults change it in place before it is switched on.

    `wires` are named by the pin to which the plan leads them, `feeds` by the bus that they feed; `leads` tells for
    each pin of a header the node of the board behind it.  `mated` tells for each pin of a plug the pin of the header
    that it meets, or None.  `joins` are further joints between nodes, `batteries` lead from a node that the organ feeds
    to the ground of that supply, and `flickers` are the wires and feeds whose joint comes and goes.  `read_from` tells
    for each place what arrives there: the level of a place or a constant one; `bleeds` which shows through as well.
    `reversed_groups` are those whose polarity is set wrongly, `resets` the settings of groups that differ.
    """

    contacts: list[Contact] = field(default_factory=list)
    wires: dict[Pin, Wire] = field(default_factory=dict)
    feeds: dict[Node, Wire] = field(default_factory=dict)
    mated: dict[Pin, Pin | None] = field(default_factory=dict)
    leads: dict[Pin, Node] = field(default_factory=dict)
    joins: list[tuple[Node, Node]] = field(default_factory=list)
    batteries: dict[Node, Node] = field(default_factory=dict)
    flickers: dict[Pin | Node, Flicker] = field(default_factory=dict)
    lanes: list[LaneInputs] = field(default_factory=list)
    stuck_inputs: dict[Node, bool] = field(default_factory=dict)
    read_from: dict[Place, Place | bool] = field(default_factory=dict)
    bleeds: dict[Place, Place] = field(default_factory=dict)
    reversed_groups: set[str] = field(default_factory=set)
    resets: dict[str, Reset] = field(default_factory=dict)

    def plug_in(self, connector: str) -> None:
        """Put a plug on its own header."""
        self.mated |= {Pin(connector, n): Pin(connector, n) for n in range(1, WAYS + 1)}
