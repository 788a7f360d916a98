"""What a console with supposed faults would let hear.

Metal that hangs together is one node.  A pressed contact links two nodes; what a press lets hear is what then differs
from the untouched console.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from functools import cached_property

from retrofit.midi.messages import NOTE_ON
from retrofit.proving.diagnosis.net import RETURN, SUPPLY, Diode, Net
from retrofit.proving.diagnosis.paths import Link, Node, Paths, fewest_drops, standing, wins
from retrofit.proving.diagnosis.rig import Contact, Lead, Pin, Rig, Role
from retrofit.proving.evidence import stray_words

_RAILS: frozenset[Node] = frozenset({RETURN, SUPPLY})
_NOTHING: frozenset[str] = frozenset()
DATA_MASK = 0x7F
"""A data byte of a message has seven bits (MIDI 1.0): a note beyond the last comes round."""
_THROUGH: dict[Diode | None, tuple[int | None, int | None]] = {
    None: (1, None),
    Diode.SHORTED: (0, 0),
    Diode.REVERSED: (None, 1),
}
"""Diode drops from line to bus and back; None where no current flows."""


class Hearing:
    """What a net lets hear; worked out on demand."""

    def __init__(self, net: Net) -> None:
        self.net, self.rig = net, net.rig
        self._parent: dict[Node, Node] = {}
        self._links: dict[str, Link] = {}
        self._join_all()
        self._members: dict[Node, list[Pin]] = {}
        for node in list(self._parent):
            if isinstance(node, Pin) and node in self.rig.leads:
                self._members.setdefault(self._root(node), []).append(node)
        self._idle_keyed = self._keyed(self._closed(()))
        self._single: dict[str, frozenset[str]] = {}

    def _join_all(self) -> None:
        net = self.net
        batteries = []
        for name, bus in self.rig.buses.items():
            if name in net.cut_buses:
                continue
            feed: Node = (name, "ground") if bus.battery else name
            if bus.battery:
                batteries.append((feed, name))
            for pin in bus.pins:
                self._join(feed, self._wire_node(pin))
        for one, other in net.joined:
            self._join(self._end(one), self._end(other))
        for ground, hot in batteries:
            if self._root(ground) == self._root(RETURN):
                self._join(hot, SUPPLY)

    def _end(self, thing: Node) -> Node:
        return self._plug_node(thing) if isinstance(thing, Pin) else thing

    def _wire_node(self, wire: Pin) -> Node:
        plug = self.net.plugged.get(wire, wire)
        return ("air", wire) if plug is None else self._plug_node(plug)

    def _plug_node(self, plug: Pin) -> Node:
        header = self.net.mated.get(plug, plug)
        if header is None:
            return ("plug", plug)
        lead = self.rig.leads.get(header)
        return lead.role if lead is not None and lead.role in (RETURN, SUPPLY) else header

    def _root(self, node: Node) -> Node:
        parent = self._parent
        while (above := parent.get(node, node)) != node:
            node = above
        return node

    def _join(self, one: Node, other: Node) -> None:
        one, other = self._root(one), self._root(other)
        self._parent.setdefault(other, other)
        if one != other:
            if one in (RETURN, SUPPLY):
                one, other = other, one
            self._parent[one] = other

    @cached_property
    def powerless(self) -> bool:
        """Whether the two rails are joined, so that the board is silent."""
        return self._root(RETURN) == self._root(SUPPLY)

    def _closed(self, pressed: Collection[str]) -> frozenset[str]:
        net = self.net
        closed = self._at_rest ^ {moved for point in pressed for moved in self._moved(point)}
        return (closed - net.dead) | net.held

    def _link(self, point: str) -> Link:
        found = self._links.get(point)
        if found is None:
            self._links[point] = found = self._make_link(self.rig.contacts[point])
        return found

    def _make_link(self, contact: Contact) -> Link:
        line = self._root(self._wire_node(contact.line))
        bus = self._root(self._wire_node(contact.bus) if isinstance(contact.bus, Pin) else contact.bus)
        instead = self.net.diodes.get(contact.point)
        forth, back = _THROUGH[instead] if contact.diode or instead is not None else (0, 0)
        return Link(line, bus, forth, back)

    def _keyed(self, closed: Iterable[str], drops: int = 9) -> frozenset[int]:
        """Return the places whose inputs are keyed while these contacts are closed."""
        links = frozenset(map(self._link, closed))
        if not any(map(self._touches_joined, links)):
            return self._standing | self._keyed_freely(links, drops)
        touched = {node for link in links for node in (link.line, link.bus)} - _RAILS
        return frozenset(self._read_nodes((*touched, *self._members), links, drops))

    def _touches_joined(self, link: Link) -> bool:
        """Return whether a contact lies on metal that faults have joined; what lies on a rail stays as it is."""
        members = self._members
        return (link.line in members and link.line not in _RAILS) or (link.bus in members and link.bus not in _RAILS)

    @cached_property
    def _standing(self) -> frozenset[int]:
        """The places that are keyed whatever is pressed."""
        return frozenset(self._read_nodes(tuple(self._members), (), 9))

    def _keyed_freely(self, links: frozenset[Link], drops: int) -> frozenset[int]:
        """Return what links between nodes that no fault has joined key: the same in every net of this console."""
        known = self.rig.remembered
        found = known.get((links, drops))
        if found is None:
            nodes = {node for link in links for node in (link.line, link.bus)} - _RAILS
            known[links, drops] = found = frozenset(self._read_nodes(tuple(nodes), links, drops))
        return found

    def _read_nodes(self, nodes: Sequence[Node], links: Collection[Link], drops: int) -> set[int]:
        found: set[int] = set()
        for node in dict.fromkeys(nodes):
            paths = Paths(links, self._root(node))
            for pin in self._pins(node):
                lead = self.rig.leads.get(pin)
                if lead is not None:
                    self._read(lead, paths, links, drops, found)
        return found

    def _pins(self, node: Node) -> Collection[Pin]:
        return self._members.get(node) or ((node,) if isinstance(node, Pin) else ())

    def _read(self, lead: Lead, paths: Paths, links: Collection[Link], drops: int, found: set[int]) -> None:
        if lead.role is Role.INPUT:
            low, high = paths.outward.get(self._root(RETURN)), paths.inward.get(self._root(SUPPLY))
            if self.rig.lanes[lead.number >> 3].keyed_high:
                low, high = high, low
            if wins(low, high, drops):
                found.add(lead.number)
        elif lead.role is Role.COLUMN:
            for row, lane in self._rows(lead.matrix):
                if self._is_row_keyed((lead.matrix, row), paths, links, drops):
                    found.add(lane * 8 + lead.number)

    def _is_row_keyed(self, row: tuple[int, int], paths: Paths, links: Collection[Link], drops: int) -> bool:
        """Return whether a column with these paths is keyed while a row of its matrix is read."""
        low, high = self._driven[row]
        if low.isdisjoint(paths.outward):
            return False
        low, high = standing(links, low, high, _RAILS)
        return wins(fewest_drops(paths.outward, low), fewest_drops(paths.inward, high), drops)

    def _rows(self, matrix: int) -> list[tuple[int, int]]:
        return [(row, lane) for (number, row), lane in self.rig.row_lanes.items() if number == matrix]

    @cached_property
    def _driven(self) -> dict[tuple[int, int], tuple[frozenset[Node], frozenset[Node]]]:
        """The nodes that are low and high while a row of a matrix is read; drivers that are joined have no level."""
        drivers = {
            (lead.matrix, lead.number): self._root(pin) for pin, lead in self.rig.leads.items() if lead.role is Role.ROW
        }
        found = {}
        for (matrix, row), own in drivers.items():
            low, high = {own, self._root(RETURN)}, {self._root(SUPPLY)}
            if matrix in self.rig.driven_high:
                others = {node for (number, other), node in drivers.items() if number == matrix and other != row}
                high |= others - _RAILS
            both = low & high - _RAILS
            found[matrix, row] = frozenset(low - both), frozenset(high - both)
        return found

    def on(self, pressed: Collection[str], drops: int = 9) -> frozenset[str]:
        """Return what is on while contacts are held; ways over more than `drops` diodes do not count."""
        if self.powerless:
            return _NOTHING
        seen = self._seen(self._keyed(self._closed(pressed), drops))
        return self._called_by(frozenset(self._points(seen)) ^ self._on_unkeyed)

    def _seen(self, keyed: frozenset[int]) -> frozenset[int]:
        """Return the places that the board takes for keyed: what arrives there, and what shows through."""
        read, through = self.net.read, self.net.with_
        if not read and not through:
            return keyed
        seen = {place for place, source in read.items() if source is True}
        seen.update(self._shown(keyed))
        seen.update(place for place, other in through.items() if read.get(other, other) in keyed)
        return frozenset(seen)

    def idle(self) -> frozenset[str]:
        """Return what is on while nothing is touched."""
        return self._untouched

    @cached_property
    def _untouched(self) -> frozenset[str]:
        return self.on(())

    @cached_property
    def _at_rest(self) -> frozenset[str]:
        return frozenset(point for point, contact in self.rig.contacts.items() if contact.closed_at_rest)

    def _moved(self, point: str) -> list[str]:
        """Return the contacts that a key moves: its own, and those that bent leaves or a coupler bring."""
        net = self.net
        if not net.bent and not net.coupled:
            return [point]
        moved = [point, *(other for key, other in net.bent if key == point)]
        own = self.rig.contacts[point]
        for played, sounded in net.coupled:
            if own.group == played and own.note is not None:
                moved += [c.point for c in self.rig.contacts.values() if c.group == sounded and c.note == own.note]
        return moved

    @cached_property
    def _idle_ends(self) -> Counter[Node]:
        """How many contacts that are closed untouched end at each node but the rails."""
        links = map(self._link, self._closed(()))
        return Counter(node for link in links for node in (link.line, link.bus) if node not in _RAILS)

    def _acts_alone(self, point: str) -> bool:
        """Return whether a contact meets no other closed one, and no metal that faults have joined."""
        link = self._link(point)
        if self._touches_joined(link):
            return False
        ends = self._idle_ends
        if not ends:
            return True
        own = point in self.net.held or point in self._at_rest
        return all(ends[node] <= own for node in (link.line, link.bus) if node not in _RAILS)

    def press(self, point: str) -> frozenset[str]:
        """Return what a single press lets hear: all that is then on and was not, or the other way about."""
        found = self._single.get(point)
        if found is None:
            self._single[point] = found = self._press(point)
        return found

    def _press(self, point: str) -> frozenset[str]:
        if self.powerless:
            return _NOTHING
        if self.net.with_:
            changed = self._seen(self._keyed(self._closed((point,)))) ^ self._seen(self._idle_keyed)
        else:
            changed = self._shown(self._change(point))
        return self._called_by(frozenset(self._points(changed)))

    def _shown(self, changed: frozenset[int]) -> frozenset[int]:
        """Return the places that show a change at these inputs."""
        read = self.net.read
        if not read:
            return changed
        return changed.difference(read).union(*(self._showing.get(source, ()) for source in changed))

    @cached_property
    def _showing(self) -> dict[int, list[int]]:
        """The places at which each place that is not read where it should be shows."""
        found: dict[int, list[int]] = {}
        for place, source in self.net.read.items():
            if not isinstance(source, bool):
                found.setdefault(source, []).append(place)
        return found

    def _change(self, point: str) -> frozenset[int]:
        """Return the places whose inputs a press changes; where it meets no other closed contact it acts alone."""
        net = self.net
        if not net.bent and not net.coupled:
            if point in net.dead or point in net.held:
                return frozenset()
            if self._acts_alone(point):
                return self._keyed_freely(frozenset((self._link(point),)), 9)
        return self._keyed(self._closed((point,))) ^ self._idle_keyed

    @cached_property
    def _on_unkeyed(self) -> frozenset[str]:
        """Points that are on when nothing is keyed: those at rest closed, or in an inverted group, not both."""
        inverted = self.net.inverted
        contacts = self.rig.contacts
        return frozenset(
            point
            for point in self.rig.point_at.values()
            if contacts[point].closed_at_rest != (contacts[point].group in inverted)
        )

    def _points(self, places: Iterable[int]) -> Iterable[str]:
        at = self.rig.point_at
        return (at[place] for place in places if place in at)

    def _called_by(self, points: frozenset[str]) -> frozenset[str]:
        """Return what points are heard as."""
        net = self.net
        if not net.channels and not net.semitones and not net.doubled:
            return points
        return frozenset(name for point in points for name in self._names(point))

    def called(self, name: str) -> str | None:
        """Return the point whose place is heard by this name, or None; of two the one whose group sends otherwise."""
        return next(iter(self.all_called(name)), None)

    def all_called(self, name: str) -> tuple[str, ...]:
        """Return the points whose places are heard by this name: one of a group that sends otherwise, and its own."""
        contact = self.rig.contacts.get(name)
        own = contact is not None and contact.group not in {*self.net.channels, *self.net.semitones}
        moved = self._renamed.get(name)
        return (*((moved,) if moved is not None else ()), *((name,) if own else ()))

    @cached_property
    def _renamed(self) -> dict[str, str]:
        moved = {*self.net.channels, *self.net.semitones}
        return {self._name(p): p for p, contact in self.rig.contacts.items() if contact.group in moved}

    def _names(self, point: str) -> Iterable[str]:
        yield self._name(point)
        second = self.net.doubled.get(self.rig.contacts[point].group)
        if second is not None:
            yield renamed(self.rig, point, second, 0)

    def _name(self, point: str) -> str:
        group = self.rig.contacts[point].group
        channel, semitones = self.net.channels.get(group), self.net.semitones.get(group, 0)
        if channel is None and not semitones:
            return point
        return renamed(self.rig, point, channel, semitones)


def renamed(rig: Rig, point: str, channel: int | None, semitones: int) -> str:
    """Return what a point is heard as when its group is set to another channel (1-16), or moved by semitones."""
    message = rig.messages[point]
    status = message[0] if channel is None else message[0] & 0xF0 | channel - 1
    moved = message[1] + semitones & DATA_MASK if message[0] & 0xF0 == NOTE_ON else message[1]
    sent = bytes((status, moved)) + message[2:]
    return rig.points_of.get(sent) or stray_words(sent)
