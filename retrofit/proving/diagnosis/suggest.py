"""Which causes could be behind what disagrees: every disagreement votes for the causes that would explain it alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from retrofit.plan.connectors import WAYS
from retrofit.proving.diagnosis.align import Heard
from retrofit.proving.diagnosis.causes import Cause, Kind, chain_places
from retrofit.proving.diagnosis.net import Hearing, Net
from retrofit.proving.diagnosis.rig import Contact, Pin, Rig, Role
from retrofit.proving.diagnosis.score import Fit

Causes = Iterator[Cause]
MOST = 40
"""Causes that are tried at a time: those with the most votes."""
SPREAD = 8
"""Contacts, spread over those before the first that is known to be moved, at which a shift may begin."""
MOST_BEGINS = 4
"""Contacts at which a shift may begin because the one before is not heard moved: a guess may be wrong."""
MIRRORED_FROM = 2
"""Two contacts that are mirrored are two crossed wires."""
MANY = 6
"""Presses that do not fit from which on a whole group may be laid otherwise."""


def suggestions(rig: Rig, net: Net, hearing: Hearing, fits: Sequence[Fit]) -> list[tuple[Cause, ...]]:
    """Return causes worth supposing besides those already in the net, the most promising first.

    Mostly single ones; two where neither alone would bring what is heard any nearer.
    """
    votes: dict[Cause, float] = {}
    asker = _Asker(rig, net, hearing)
    for fit in fits:
        for weight, causes in asker.of_fit(fit):
            for cause in dict.fromkeys(causes):
                votes[cause] = votes.get(cause, 0.0) + weight
    single = sorted(votes, key=lambda cause: -votes[cause])[:MOST]
    return [*((cause,) for cause in single), *dict.fromkeys(asker.pairs(fits))]


def _cause(kind: Kind, *parts: object) -> Cause:
    return Cause(kind, parts)


@dataclass
class _Asker:
    rig: Rig
    net: Net
    hearing: Hearing

    def of_fit(self, fit: Fit) -> Iterator[tuple[float, Causes]]:
        """Yield for each disagreement its weight and the causes that would explain it."""
        pairs = [*fit.wrong, *self._guessed(fit)]
        yield from ((2.0, self._of_press(self.rig.contacts[point], heard)) for point, heard in fit.wrong)
        yield from ((1.0, self._of_press(self.rig.contacts[p], heard)) for p, heard in pairs[len(fit.wrong) :])
        yield 4.0, self._steps(pairs)
        yield from ((1.0, self._slips((pair,))) for pair in pairs)
        yield from ((2.0, self._of_silence(self.rig.contacts[point])) for point in fit.silent)
        yield from ((0.2, self._of_silence(self.rig.contacts[point])) for point in fit.missing)
        yield 4.0, self._chain_ends([*fit.silent, *fit.missing])
        if len(fit.missing) + len(fit.strays) > MANY:
            yield 9.0, self._of_whole_groups(pairs)
        yield from ((4.0, self._of_idle(name)) for name in sorted(fit.idle_more | fit.idle_less))
        for pressed, more, less in fit.chords:
            yield from ((1.0, self._of_ghost(pressed, name)) for name in sorted(more - fit.idle_more))
            yield from ((1.0, self._of_lost(pressed, name)) for name in sorted(less))

    def pairs(self, fits: Sequence[Fit]) -> Iterator[tuple[Cause, Cause]]:
        """Yield causes that only together bring nearer what is heard: a channel and a shift, a coupler and no bus."""
        for fit in fits:
            for point, heard in (*fit.wrong, *self._guessed(fit)):
                contact = self.rig.contacts[point]
                for name in sorted(heard):
                    yield from self._of_other_setting(contact, name)
                    if not self.hearing.press(point) & heard:
                        yield from self._of_coupler_alone(contact, name)
                        yield from self._of_bent_alone(contact, name)

    def _of_coupler_alone(self, contact: Contact, name: str) -> Iterator[tuple[Cause, Cause]]:
        """Yield what would let keys be heard by a coupler alone, while their own group is silent."""
        other = self._heard_as(name)
        if other is None or other.group == contact.group or contact.note is None or other.note != contact.note:
            return
        if isinstance(contact.bus, str):
            yield _cause(Kind.BUS_DEAD, contact.group), _cause(Kind.COUPLED, contact.group, other.group)
        else:
            yield _cause(Kind.DIODES_REVERSED, contact.group), _cause(Kind.COUPLED, contact.group, other.group)

    def _of_other_setting(self, contact: Contact, name: str) -> Iterator[tuple[Cause, Cause]]:
        own = self.rig.messages.get(contact.point)
        sent = self.rig.messages.get(name) or _bytes_of(name)
        if own is None or sent is None or own[0] & 0xF0 != sent[0] & 0xF0:
            return
        if own[0] != sent[0] and own[1] != sent[1]:
            channel = _cause(Kind.CHANNEL, contact.group, (sent[0] & 0x0F) + 1)
            yield channel, _cause(Kind.SHIFTED, contact.group, sent[1] - own[1])
            if isinstance(contact.bus, str):
                yield channel, _cause(Kind.MIRRORED, contact.group)

    def _of_bent_alone(self, contact: Contact, name: str) -> Iterator[tuple[Cause, Cause]]:
        """Yield what would let a key be heard by its neighbour's contact alone."""
        other = self._heard_as(name)
        if other is not None and other.group == contact.group and abs(other.position - contact.position) == 1:
            yield _cause(Kind.DEAD, contact.point), _cause(Kind.BENT, contact.point, other.point)

    def _heard_as(self, name: str) -> Contact | None:
        point = self.hearing.called(name)
        return None if point is None else self.rig.contacts[point]

    def _of_whole_groups(self, pairs: Iterable[tuple[str, Heard]]) -> Causes:
        for group in {self.rig.contacts[point].group for point, _ in pairs}:
            if all(isinstance(contact.bus, str) for contact in self.rig.group(group)):
                yield _cause(Kind.MIRRORED, group)
            yield from (_cause(Kind.SHIFTED, group, semitones) for semitones in (-12, 12))

    def _guessed(self, fit: Fit) -> list[tuple[str, Heard]]:
        """Pair contacts that the run did not let hear with strays in the order of both: a guess at who made which."""
        missing = fit.missing
        if not missing or not fit.strays:
            return []
        if len(missing) == len(fit.strays):
            return [*zip(missing, fit.strays, strict=True), *zip(missing[::-1], fit.strays, strict=True)]
        ends = zip(missing[::-1], fit.strays[::-1], strict=False)
        return [*zip(missing, fit.strays, strict=False), *ends, *zip(missing[::-1], fit.strays, strict=False)]

    def _of_press(self, contact: Contact, heard: Heard) -> Causes:
        expected = self.hearing.press(contact.point)
        lost, gained = expected - heard, sorted(heard - expected)
        for name in gained:
            other = self._heard_as(name)
            if other is None:
                yield from self._of_stray(contact, name, bool(expected & heard))
                continue
            if lost or not expected:
                yield from self._of_moved(contact, other)
            if expected:
                yield from self._of_extra(contact, other)
        if lost and not gained:
            yield from self._of_silence(contact)
        if not expected:
            yield from self._of_moved_from_silence(contact, heard)

    def _of_moved_from_silence(self, contact: Contact, heard: Heard) -> Causes:
        """What would let a contact be heard that is supposed to be silent."""
        for name in heard:
            other = self._heard_as(name)
            if other is not None and other.point != contact.point:
                yield from self._of_wires(contact.line, self.net.shown_at(other.line))
                if isinstance(contact.bus, Pin) and isinstance(other.bus, Pin):
                    yield from self._of_wires(contact.bus, other.bus)
                yield from self._of_extra(contact, other)

    def _of_stray(self, contact: Contact, words: str, besides: bool) -> Causes:
        own = self.rig.messages.get(contact.point)
        sent = _bytes_of(words)
        if own is None or sent is None or len(sent) < 2:
            return
        if sent[1] == own[1] and sent[0] != own[0] and sent[0] & 0xF0 == own[0] & 0xF0:
            kind = Kind.DOUBLED if besides else Kind.CHANNEL
            yield _cause(kind, contact.group, (sent[0] & 0x0F) + 1)
        if sent[0] == own[0] and sent[1] != own[1]:
            yield _cause(Kind.SHIFTED, contact.group, sent[1] - own[1])

    def _of_moved(self, contact: Contact, other: Contact) -> Causes:
        """What would let one contact be heard in the place of another."""
        yield from self._of_renaming(contact, other)
        mirrored = contact.group == other.group and contact.position + other.position == self._ends(contact.group)
        if mirrored and isinstance(contact.bus, str) and len(self.rig.group(contact.group)) > MIRRORED_FROM:
            yield _cause(Kind.MIRRORED, contact.group)
        yield from self._of_wires(contact.line, self.net.shown_at(other.line))
        if isinstance(contact.bus, Pin) and isinstance(other.bus, Pin):
            yield from self._of_wires(contact.bus, other.bus)
            if contact.bus != other.bus and contact.line != other.line:
                yield _cause(Kind.EXCHANGED, *sorted((contact.line.connector, contact.bus.connector)))

    def _ends(self, group: str) -> int:
        contacts = self.rig.group(group)
        return contacts[0].position + contacts[-1].position

    def _of_renaming(self, contact: Contact, other: Contact) -> Causes:
        own, sent = self.rig.messages.get(contact.point), self.rig.messages.get(other.point)
        if own == sent or own is None or sent is None or own[0] & 0xF0 != sent[0] & 0xF0:
            return
        if own[0] == sent[0] and contact.note is not None and other.note is not None:
            yield _cause(Kind.SHIFTED, contact.group, sent[1] - own[1])
        if own[0] != sent[0] and own[1] == sent[1]:
            yield _cause(Kind.CHANNEL, contact.group, (sent[0] & 0x0F) + 1)

    def _of_wires(self, wire: Pin, there: Pin) -> Causes:
        """What would lead a wire to another pin."""
        here = self.net.header(wire) or wire
        if here == there:
            return
        yield _cause(Kind.CROSSED, *sorted((wire, self.net.wire_at(there))))
        plug, pin = self._plug(wire)
        for step in (1, -1):
            beside = Pin(plug, pin + step)
            if self.net.mated.get(beside, beside) == there:
                yield _cause(Kind.OFF_ONE, plug, step)
        if here.connector == there.connector:
            if here.number + there.number == WAYS + 1:
                yield _cause(Kind.TURNED, plug)
        else:
            other = self.net.wire_at(Pin(there.connector, here.number)).connector
            yield _cause(Kind.EXCHANGED, *sorted((plug, other if other != plug else there.connector)))
            yield _cause(Kind.EXCHANGED, *sorted((plug, there.connector)))

    def _of_extra(self, contact: Contact, other: Contact) -> Causes:
        """What would let another contact be heard besides."""
        here, there = self._plug(contact.line), self.net.plug_at(self.net.shown_at(other.line))
        if here != there:
            yield _cause(Kind.JOINED, *sorted((here, there)))
        if isinstance(contact.bus, Pin) and isinstance(other.bus, Pin) and contact.bus != other.bus:
            yield _cause(Kind.JOINED, *sorted((self._plug(contact.bus), self.net.plug_at(other.bus))))
            yield _cause(Kind.GROUNDED, self._plug(contact.bus))
        for point in self._sounding.get(other.point, ()):
            if point != contact.point:
                yield _cause(Kind.BENT, contact.point, point)
        if contact.note is not None and contact.note == other.note and contact.group != other.group:
            yield _cause(Kind.COUPLED, contact.group, other.group)
            if (message := self.rig.messages.get(other.point)) is not None:
                yield _cause(Kind.DOUBLED, contact.group, (message[0] & 0x0F) + 1)
        yield from self._of_bleed(contact, other)

    def _plug(self, wire: Pin) -> Pin:
        return self.net.plugged.get(wire, wire) or wire

    @cached_property
    def _sounding(self) -> dict[str, list[str]]:
        """Return which contacts let each point be heard, with no other of its own group."""
        found: dict[str, list[str]] = {}
        for point, contact in self.rig.contacts.items():
            heard = (self._heard_as(name) for name in self.hearing.press(point))
            own = [other.point for other in heard if other is not None and other.group == contact.group]
            if len(own) == 1:
                found.setdefault(own[0], []).append(point)
        return found

    def _of_bleed(self, contact: Contact, other: Contact) -> Causes:
        here, there = self._place(contact), self._place_of(other.line)
        if here < 0 or there < 0:
            return
        lanes = [self.rig.lanes[number >> 3] for number in (here, there)]
        if lanes[0].bank and lanes[0].bank == lanes[1].bank and here & 7 == there & 7:
            yield _cause(Kind.BLEED, lanes[0].bank, here & 7)

    def _steps(self, pairs: Iterable[tuple[str, Heard]]) -> Causes:
        """Shifts that begin where contacts begin to be heard a place further, or somewhere before the first of them."""
        pairs = list(pairs)
        for step in (1, -1):
            moved = {c for c, o in self._moved_pairs(pairs) if c.group == o.group and o.position - c.position == step}
            for group in dict.fromkeys(contact.group for contact in sorted(moved, key=lambda contact: contact.point)):
                contacts = self.rig.group(group)
                begins = [c for i, c in enumerate(contacts) if c in moved and (not i or contacts[i - 1] not in moved)]
                before = contacts[: contacts.index(begins[0]) + 1]
                spread = before[:: max(1, len(before) // SPREAD)]
                found = dict.fromkeys((*before[-3:], *begins[1:MOST_BEGINS], *spread))
                yield from (_cause(Kind.STEPPED, contact.point, step) for contact in found)

    def _slips(self, pairs: Iterable[tuple[str, Heard]]) -> Causes:
        order = {place: i for i, place in enumerate(chain_places(self.rig))}
        for contact, other in self._moved_pairs(pairs):
            here, there = self._place(contact), self._place_of(other.line)
            if here in order and there in order and abs(order[there] - order[here]) == 1:
                register = self.rig.lanes[there >> 3].order or 0
                step = order[here] - order[there]
                for first in range(max(0, register - 2), register + 1):
                    if first or step > 0:
                        yield _cause(Kind.SLIPPED, first, step)

    def _moved_pairs(self, pairs: Iterable[tuple[str, Heard]]) -> Iterator[tuple[Contact, Contact]]:
        for point, heard in pairs:
            for name in heard:
                other = self._heard_as(name)
                if other is not None and name not in self.hearing.press(point):
                    yield self.rig.contacts[point], other

    def _place(self, contact: Contact) -> int:
        """Return the place of the input that a contact's wire is supposed to reach, or -1."""
        return self._place_of(self.net.header(contact.line) or contact.line)

    def _place_of(self, pin: Pin) -> int:
        lead = self.rig.leads.get(pin)
        return lead.number if lead is not None and lead.role is Role.INPUT else -1

    def _of_silence(self, contact: Contact) -> Causes:
        yield _cause(Kind.DEAD, contact.point)
        yield from self._of_dead_wire(contact.line)
        if isinstance(contact.bus, Pin):
            yield from self._of_dead_wire(contact.bus)
            yield from self._of_matrix_silence(contact, contact.bus)
        else:
            yield _cause(Kind.BUS_DEAD, contact.group)
            yield from self._of_register(contact)
            for step in (1, -1):
                yield _cause(Kind.STEPPED, contact.point, step)

    def _of_dead_wire(self, wire: Pin) -> Causes:
        yield _cause(Kind.LINE_DEAD, wire)
        yield _cause(Kind.TURNED, wire.connector)
        for step in (1, -1):
            yield _cause(Kind.OFF_ONE, wire.connector, step)

    def _of_matrix_silence(self, contact: Contact, bus: Pin) -> Causes:
        yield _cause(Kind.DIODES_REVERSED, contact.group)
        if contact.diode:
            yield _cause(Kind.DIODE_REVERSED, contact.point)
            yield _cause(Kind.EXCHANGED, *sorted((contact.line.connector, bus.connector)))
        if self.rig.matrix_of(contact) in self.rig.driven_high:
            for other in {c.bus for c in self.rig.group(contact.group) if isinstance(c.bus, Pin)} - {bus}:
                if abs(other.number - bus.number) == 1:
                    yield _cause(Kind.JOINED, *sorted((self._plug(bus), self._plug(other))))

    def _of_register(self, contact: Contact) -> Causes:
        lead = self.rig.leads.get(self.net.header(contact.line) or contact.line)
        if lead is None or lead.role is not Role.INPUT:
            return
        lane = self.rig.lanes[lead.number >> 3]
        if lane.order is not None:
            yield _cause(Kind.REGISTER_DEAD, lane.index, not lane.keyed_high)
            yield _cause(Kind.CHAIN_DEAD, lane.order, not lane.keyed_high)
            for step in (1, -1)[: 1 if lane.order == 0 else 2]:
                yield _cause(Kind.SLIPPED, lane.order, step)
        if lane.where.startswith("expander"):
            yield _cause(Kind.EXPANDER_DEAD, lane.where)

    def _chain_ends(self, quiet: Iterable[str]) -> Causes:
        """Chains that end at any register from the first silent one on."""
        lanes = [self.rig.lanes[place >> 3] for p in quiet if (place := self._place(self.rig.contacts[p])) >= 0]
        for order in sorted({lane.order for lane in lanes if lane.order is not None})[:1]:
            for level in (True, False):
                yield _cause(Kind.CHAIN_DEAD, order, level)

    def _of_idle(self, name: str) -> Causes:
        contact = self._heard_as(name)
        if contact is None:
            return
        yield from (_cause(Kind.HELD, point) for point in (contact.point, *self._sounding.get(contact.point, ())))
        yield _cause(Kind.INVERTED, contact.group)
        for wire in (contact.line, contact.bus):
            if isinstance(wire, Pin):
                yield _cause(Kind.GROUNDED, self.net.plug_at(wire))
                yield from (_cause(Kind.OFF_ONE, wire.connector, step) for step in (1, -1))
                yield _cause(Kind.TURNED, wire.connector)
        if contact.closed_at_rest:
            yield from self._of_silence(contact)
        lead = self.rig.leads[contact.line]
        keyed = lead.role is Role.INPUT and self.rig.lanes[lead.number >> 3].keyed_high
        yield _cause(Kind.INPUT_STUCK, contact.line, keyed)
        lane = self.rig.lanes[lead.number >> 3] if lead.role is Role.INPUT else None
        if lane is not None and lane.bank:
            yield _cause(Kind.BLEED, lane.bank, lead.number & 7)
        if lane is not None and lane.order is not None:
            yield _cause(Kind.REGISTER_DEAD, lane.index, keyed)
            yield from (
                _cause(Kind.CHAIN_DEAD, order, keyed) for order in range(max(0, lane.order - 8), lane.order + 1)
            )

    def _of_ghost(self, pressed: frozenset[str], name: str) -> Causes:
        """What would let a contact be heard that is not held: a diode that conducts both ways in an L of keys."""
        ghost = self._heard_as(name)
        if ghost is None:
            return
        yield _cause(Kind.DIODES_MISSING, ghost.group)
        held = [self.rig.contacts[point] for point in sorted(pressed)]
        rows, lines = {c.bus for c in held if c.line == ghost.line}, {c.line for c in held if c.bus == ghost.bus}
        for contact in held:
            if contact.bus in rows and contact.line in lines:
                yield _cause(Kind.DIODE_SHORTED, contact.point)
                yield _cause(Kind.DIODE_REVERSED, contact.point)
            yield from self._of_extra(contact, ghost)

    def _of_lost(self, pressed: frozenset[str], name: str) -> Causes:
        """What would silence a held contact while others are held: a shorted diode that a driven row fights through."""
        lost = self._heard_as(name)
        if lost is None:
            return
        for point in pressed:
            contact = self.rig.contacts[point]
            if contact.line == lost.line and contact.diode:
                yield _cause(Kind.DIODE_SHORTED, point)
                yield _cause(Kind.DIODE_REVERSED, point)
        yield _cause(Kind.DIODES_MISSING, lost.group)


def _bytes_of(words: str) -> bytes | None:
    try:
        return bytes.fromhex(words)
    except ValueError:
        return None
