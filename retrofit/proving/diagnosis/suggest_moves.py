"""Which causes could have led contacts to the places of others."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from retrofit.plan.connectors import WAYS
from retrofit.proving.diagnosis.align import Heard
from retrofit.proving.diagnosis.causes import Cause, Kind, chain_places
from retrofit.proving.diagnosis.clues import Clues
from retrofit.proving.diagnosis.rig import Contact, Pin

Causes = Iterator[Cause]
SPREAD = 8
"""Contacts, spread over those before the first that is known to be moved, at which a shift may begin."""
MOST_BEGINS = 4
"""Contacts at which a shift may begin because the one before is not heard moved: a guess may be wrong."""
MIRRORED_FROM = 2
"""Two contacts that are mirrored are two crossed wires."""


class Moves(Clues):
    """Suggests what moves contacts: wires, plugs, clocks, settings."""

    def _of_moved(self, contact: Contact, other: Contact) -> Causes:
        """What would let one contact be heard in the place of another."""
        yield from self._of_renaming(contact, other)
        mirrored = contact.group == other.group and contact.position + other.position == self._ends(contact.group)
        if mirrored and isinstance(contact.bus, str) and len(self.rig.group(contact.group)) > MIRRORED_FROM:
            yield Cause.of(Kind.MIRRORED, contact.group)
        yield from self._of_wires(contact.line, self.net.shown_at(other.line))
        if isinstance(contact.bus, Pin) and isinstance(other.bus, Pin):
            yield from self._of_wires(contact.bus, other.bus)
            if contact.bus != other.bus and contact.line != other.line:
                yield Cause.of(Kind.EXCHANGED, *sorted((contact.line.connector, contact.bus.connector)))

    def _ends(self, group: str) -> int:
        contacts = self.rig.group(group)
        return contacts[0].position + contacts[-1].position

    def _of_renaming(self, contact: Contact, other: Contact) -> Causes:
        own, sent = self.rig.messages.get(contact.point), self.rig.messages.get(other.point)
        if own == sent or own is None or sent is None or own[0] & 0xF0 != sent[0] & 0xF0:
            return
        if own[0] == sent[0] and contact.note is not None and other.note is not None:
            yield Cause.of(Kind.SHIFTED, contact.group, sent[1] - own[1])
        if own[0] != sent[0] and own[1] == sent[1]:
            yield Cause.of(Kind.CHANNEL, contact.group, (sent[0] & 0x0F) + 1)

    def _of_wires(self, wire: Pin, there: Pin) -> Causes:
        """What would lead a wire to another pin."""
        here = self.net.header(wire) or wire
        if here == there:
            return
        yield Cause.of(Kind.CROSSED, *sorted((wire, self.net.wire_at(there))))
        plug, pin = self._plug(wire)
        for step in (1, -1):
            beside = Pin(plug, pin + step)
            if self.net.mated.get(beside, beside) == there:
                yield Cause.of(Kind.OFF_ONE, plug, step)
        if here.connector == there.connector:
            if here.number + there.number == WAYS + 1:
                yield Cause.of(Kind.TURNED, plug)
        else:
            other = self.net.wire_at(Pin(there.connector, here.number)).connector
            yield Cause.of(Kind.EXCHANGED, *sorted((plug, other if other != plug else there.connector)))
            yield Cause.of(Kind.EXCHANGED, *sorted((plug, there.connector)))

    def _steps(self, pairs: Iterable[tuple[str, Heard]]) -> Causes:
        """Shifts that begin where contacts begin to be heard a place further, or somewhere before the first of them."""
        pairs = list(pairs)
        for step in (1, -1):
            own = ((c, o) for c, o in self._moved_pairs(pairs) if c.group == o.group and isinstance(c.bus, str))
            moved = {c for c, o in own if o.position - c.position == step}
            for group in dict.fromkeys(contact.group for contact in sorted(moved, key=lambda contact: contact.point)):
                contacts = self.rig.group(group)
                begins = [i for i, c in enumerate(contacts) if c in moved and (not i or contacts[i - 1] not in moved)]
                near = (contact for i in begins[:MOST_BEGINS] for contact in contacts[max(0, i - 2) : i + 1])
                before = contacts[: begins[0] + 1]
                found = dict.fromkeys((*near, *before[:: max(1, len(before) // SPREAD)]))
                yield from (Cause.of(Kind.STEPPED, contact.point, step) for contact in found)

    def _slips(self, pairs: Iterable[tuple[str, Heard]]) -> Causes:
        order = {place: i for i, place in enumerate(chain_places(self.rig))}
        for contact, other in self._moved_pairs(pairs):
            here, there = self._place(contact), self._place_of(other.line)
            if here in order and there in order and abs(order[there] - order[here]) == 1:
                register = self.rig.lanes[there >> 3].order or 0
                step = order[here] - order[there]
                for first in range(max(0, register - 2), register + 1):
                    if first or step > 0:
                        yield Cause.of(Kind.SLIPPED, first, step)
