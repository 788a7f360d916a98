"""What the board's inputs read of a wiring while contacts open and close.

Metal that is joined is one node.  Between nodes lie links: contacts with their diodes, and joints that come and go.  A
link conducts in one direction, both or none, at a number of diode drops.  An input reads low when current finds a way
from it to a low node (the return, or the row that is read) over few enough diodes, high when one comes to it from a
high node; where both find it the way over fewer diodes wins, and where none does or both are alike its resistor does.
Resistors that pull two joined inputs opposite ways are not weighed against each other.

Nodes that share no link with others make an island; only the island of a link that moved is read again, and what
it read at each state of its links is remembered.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from retrofit.rehearsal.standin.joints import Joints
from retrofit.rehearsal.standin.wiring import RETURN, SUPPLY, Contact, Diode, LaneInputs, Making, Node, Place, Wiring

Drops = int | None
"""Diode drops of a way through a link; None where no current flows."""
_THROUGH: dict[Diode, tuple[Drops, Drops]] = {
    Diode.NONE: (0, 0),
    Diode.SOUND: (1, None),
    Diode.REVERSED: (None, 1),
    Diode.SHORTED: (0, 0),
    Diode.OPEN: (None, None),
}
"""Drops from the line to the bus, and from the bus to the line."""
STATES_KEPT = 4096
"""States of an island's links whose readings are remembered."""


@dataclass(frozen=True, slots=True)
class Link:
    """A contact or a loose joint between two nodes, with the diode drops of each direction."""

    one: Node
    other: Node
    forth: Drops = 0
    back: Drops = 0


@dataclass(frozen=True, slots=True)
class Reading:
    """An input at one moment of the scan: its node, the nodes that are then low and high, and how it decides.

    `rails` are those of them that no way to another level can lift or lower.
    """

    place: Place
    node: Node
    low: frozenset[Node]
    high: frozenset[Node]
    rails: frozenset[Node]
    keyed_level: bool
    most_drops: int


@dataclass(slots=True)
class Island:
    """Nodes that links join, with those links, their state (a bit each), and the readings that they decide."""

    links: list[Link] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    closed: int = 0
    levels: tuple[bool, ...] = ()
    remembered: dict[int, tuple[bool, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Levels:
    """The islands of a wiring and where each contact and each loose joint lies: island and bit of its state.

    `contacts` follow the order of the wiring.  `loose` are named as the wiring names them.  `powerless` is True where
    the two rails are joined, so that the board does not run at all.
    """

    islands: tuple[Island, ...]
    contacts: tuple[tuple[Island, int] | None, ...]
    loose: dict[object, tuple[Island, int]]
    powerless: bool


class Circuit:
    """The levels at every place of the scan, kept up to date as links move; at first nothing is touched."""

    def __init__(self, wiring: Wiring) -> None:
        self._levels = _compile(wiring)
        self.powerless = self._levels.powerless
        self.at: dict[Place, bool] = {}
        for island in self._levels.islands:
            island.levels = _read(island)
            self.at.update(zip((reading.place for reading in island.readings), island.levels, strict=True))

    def contact(self, number: int, closed: bool) -> list[tuple[Place, bool]]:
        """Open or close a contact by its number in the wiring; return the places that now read another level."""
        return self._move(self._levels.contacts[number], closed)

    def loose(self, name: object, closed: bool) -> list[tuple[Place, bool]]:
        """Open or close a loose joint by its name; return the places that now read another level."""
        return self._move(self._levels.loose[name], closed)

    def _move(self, link: tuple[Island, int] | None, closed: bool) -> list[tuple[Place, bool]]:
        if link is None:
            return []
        island, bit = link
        state = island.closed | bit if closed else island.closed & ~bit
        if state == island.closed:
            return []
        island.closed = state
        before, island.levels = island.levels, _read(island)
        if before is island.levels:
            return []
        changes = [
            (reading.place, now)
            for reading, was, now in zip(island.readings, before, island.levels, strict=True)
            if was != now
        ]
        self.at.update(changes)
        return changes


def _compile(wiring: Wiring) -> Levels:
    metal = _metal(wiring)
    contacts = [_contact_link(contact, metal) for contact in wiring.contacts]
    loose = dict(_loose_links(wiring, metal))
    readings = list(_readings(wiring, metal))
    rails = {metal.root(RETURN), metal.root(SUPPLY)}
    islands = _islands([*(link for link in contacts if link), *loose.values()], readings, rails)
    where = {id(link): (island, 1 << bit) for island in islands for bit, link in enumerate(island.links)}
    for contact, link in zip(wiring.contacts, contacts, strict=True):
        if link is not None and contact.closed_untouched:
            island, bit = where[id(link)]
            island.closed |= bit
    for link in loose.values():
        island, bit = where[id(link)]
        island.closed |= bit
    return Levels(
        islands=tuple(islands),
        contacts=tuple(None if link is None else where[id(link)] for link in contacts),
        loose={name: where[id(link)] for name, link in loose.items()},
        powerless=metal.joined(RETURN, SUPPLY),
    )


def _metal(wiring: Wiring) -> Joints[Node]:
    """Join what is joined for good."""
    metal: Joints[Node] = Joints()
    for one, other in wiring.joins:
        metal.join(one, other)
    for name, wire in [*wiring.wires.items(), *wiring.feeds.items()]:
        if wire.outer is not None and name not in wiring.flickers:
            metal.join(wire.inner, wire.outer)
    for plug, header in wiring.mated.items():
        if header is not None:
            metal.join(plug.plug, header.header)
    for pin, node in wiring.leads.items():
        metal.join(pin.header, node)
    for hot, ground in wiring.batteries.items():
        if metal.joined(ground, RETURN):
            metal.join(hot, SUPPLY)
    return metal


def _contact_link(contact: Contact, metal: Joints[Node]) -> Link | None:
    """Return a contact as a link; None where it never makes or lies between two ends of the same metal."""
    forth, back = _THROUGH[contact.diode]
    one, other = metal.root(contact.line), metal.root(contact.bus)
    if contact.making is Making.NEVER or one == other or (forth, back) == (None, None):
        return None
    return Link(one, other, forth, back)


def _loose_links(wiring: Wiring, metal: Joints[Node]) -> Iterator[tuple[object, Link]]:
    for name in wiring.flickers:
        wire = wiring.feeds[name] if isinstance(name, str) else wiring.wires[name]
        if wire.outer is not None:
            yield name, Link(metal.root(wire.inner), metal.root(wire.outer))


def _readings(wiring: Wiring, metal: Joints[Node]) -> Iterator[Reading]:
    rails = frozenset((metal.root(RETURN), metal.root(SUPPLY)))
    for number, lane in enumerate(wiring.lanes):
        low, high = _driven(lane, metal)
        for bit, node in enumerate(lane.nodes):
            stuck = wiring.stuck_inputs.get(node)
            yield Reading(
                place=Place(number, bit),
                node=metal.root(node) if stuck is None else f"{node} stuck",
                low=low,
                high=high,
                rails=rails,
                keyed_level=lane.keyed_level if stuck is None else not stuck,
                most_drops=lane.most_drops,
            )


def _driven(lane: LaneInputs, metal: Joints[Node]) -> tuple[frozenset[Node], frozenset[Node]]:
    """Return the nodes that are low and high while a lane is read.

    A row on a rail has the rail's level; one that is driven both ways lies between and is neither.
    """
    low, high = ({metal.root(node) for node in rows} for rows in (lane.low, lane.high))
    ground, supply = metal.root(RETURN), metal.root(SUPPLY)
    return frozenset({ground} | (low - high - {supply})), frozenset({supply} | (high - low - {ground}))


def _islands(links: Iterable[Link], readings: Iterable[Reading], rails: set[Node]) -> list[Island]:
    """Part links and readings where no current can pass from one to the other; rails do not join."""
    links, readings = list(links), list(readings)
    shared: Joints[Node] = Joints()
    for link in links:
        if link.one not in rails and link.other not in rails:
            shared.join(link.one, link.other)
    found: dict[Node, Island] = {}
    for link in links:
        inner = link.other if link.one in rails else link.one
        found.setdefault(shared.root(inner), Island()).links.append(link)
    for reading in readings:
        found.setdefault(shared.root(reading.node), Island()).readings.append(reading)
    return list(found.values())


def _read(island: Island) -> tuple[bool, ...]:
    known = island.remembered.get(island.closed)
    if known is None:
        if len(island.remembered) >= STATES_KEPT:
            island.remembered.clear()
        closed = [link for bit, link in enumerate(island.links) if island.closed >> bit & 1]
        known = tuple(_level(reading, closed) for reading in island.readings)
        island.remembered[island.closed] = known
    return known


def _level(reading: Reading, closed: list[Link]) -> bool:
    lows, highs = _standing(reading, closed)
    low = _fewest_drops(reading.node, lows, closed, outward=True)
    high = _fewest_drops(reading.node, highs, closed, outward=False)
    idle = not reading.keyed_level
    if low is not None and low > reading.most_drops:
        low = None
    if high is not None and high > reading.most_drops:
        high = None
    if low is None:
        return idle if high is None else True
    if high is None:
        return False
    return idle if low == high else high < low


def _standing(reading: Reading, closed: list[Link]) -> tuple[frozenset[Node], frozenset[Node]]:
    """Return the low and the high nodes that keep their level: a row that finds a way to another level does not.

    Where no row is driven high none can.
    """
    low, high, rails = reading.low, reading.high, reading.rails
    if high <= rails:
        return low, high
    lifted = (n for n in low - rails if _fewest_drops(n, high, closed, outward=False) is not None)
    lowered = (n for n in high - rails if _fewest_drops(n, low, closed, outward=True) is not None)
    return low.difference(lifted), high.difference(lowered)


def _fewest_drops(node: Node, ends: frozenset[Node], closed: list[Link], *, outward: bool) -> Drops:
    """Return the fewest drops of a way for current from a node to any of the ends, or from them; None for none."""
    if node in ends:
        return 0
    fewest = {node: 0}
    best: Drops = None
    waiting = [node]
    while waiting:
        here = waiting.pop()
        for there, drops in _steps(here, closed, outward):
            total = fewest[here] + drops
            if there in ends:
                best = total if best is None else min(best, total)
            elif total < fewest.get(there, total + 1):
                fewest[there] = total
                waiting.append(there)
    return best


def _steps(here: Node, closed: list[Link], outward: bool) -> Iterator[tuple[Node, int]]:
    """Yield the nodes to which current flows through one link, or from which it comes, with the drops on the way."""
    for link in closed:
        forth, back = (link.forth, link.back) if outward else (link.back, link.forth)
        if link.one == here and forth is not None:
            yield link.other, forth
        if link.other == here and back is not None:
            yield link.one, back
