"""Which causes could be behind what disagrees: every disagreement votes for the causes that would explain it alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from retrofit.proving.diagnosis.align import Heard
from retrofit.proving.diagnosis.causes import Cause, Kind
from retrofit.proving.diagnosis.clues import bytes_of
from retrofit.proving.diagnosis.hearing import Hearing
from retrofit.proving.diagnosis.net import Net
from retrofit.proving.diagnosis.rig import Contact, Pin, Rig, Role
from retrofit.proving.diagnosis.score import Fit
from retrofit.proving.diagnosis.suggest_moves import Causes, Moves
from retrofit.proving.diagnosis.suggest_pairs import Pairs

MOST = 40
"""Causes that are tried at a time: those with the most votes."""
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
    return [*((cause,) for cause in single), *dict.fromkeys(Pairs(rig, net, hearing).pairs(fits))]


class _Asker(Moves):
    """Suggests single causes for every disagreement."""

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
            for name in sorted((more - fit.idle_more) | less):
                ghost = (name in more) != self._is_inverted(name)
                yield 1.0, self._of_ghost(pressed, name) if ghost else self._of_lost(pressed, name)

    def _is_inverted(self, name: str) -> bool:
        contact = self._heard_as(name)
        return contact is not None and contact.group in self.net.inverted

    def _of_whole_groups(self, pairs: Iterable[tuple[str, Heard]]) -> Causes:
        for group in dict.fromkeys(self.rig.contacts[point].group for point, _ in pairs):
            if all(isinstance(contact.bus, str) for contact in self.rig.group(group)):
                yield Cause.of(Kind.MIRRORED, group)
            yield from (Cause.of(Kind.SHIFTED, group, semitones) for semitones in (-12, 12))

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
        if contact.diode and contact.point in heard:
            yield Cause.of(Kind.DIODE_SHORTED, contact.point)
        for name in sorted(heard):
            other = self._heard_as(name)
            if other is not None and other.point != contact.point:
                yield from self._of_wires(contact.line, self.net.shown_at(other.line))
                if isinstance(contact.bus, Pin) and isinstance(other.bus, Pin):
                    yield from self._of_wires(contact.bus, other.bus)
                yield from self._of_extra(contact, other)

    def _of_stray(self, contact: Contact, words: str, besides: bool) -> Causes:
        own = self.rig.messages.get(contact.point)
        sent = bytes_of(words)
        if own is None or sent is None:
            return
        if sent[0] != own[0] and sent[0] & 0xF0 == own[0] & 0xF0 and (sent[1] == own[1] or not besides):
            kind = Kind.DOUBLED if besides else Kind.CHANNEL
            yield Cause.of(kind, contact.group, (sent[0] & 0x0F) + 1)
        if sent[0] == own[0] and sent[1] != own[1]:
            yield Cause.of(Kind.SHIFTED, contact.group, sent[1] - own[1])

    def _of_extra(self, contact: Contact, other: Contact) -> Causes:
        """What would let another contact be heard besides."""
        here, there = self._plug(contact.line), self.net.plug_at(self.net.shown_at(other.line))
        if here != there:
            yield Cause.of(Kind.JOINED, *sorted((here, there)))
        if isinstance(contact.bus, Pin) and isinstance(other.bus, Pin) and contact.bus != other.bus:
            yield Cause.of(Kind.JOINED, *sorted((self._plug(contact.bus), self.net.plug_at(other.bus))))
            yield Cause.of(Kind.GROUNDED, self._plug(contact.bus))
        beside = [other.point] if abs(other.position - contact.position) == 1 else []
        for point in dict.fromkeys((*beside, *self._sounding.get(other.point, ()))):
            if point != contact.point:
                yield Cause.of(Kind.BENT, contact.point, point)
        if contact.note is not None and contact.note == other.note and contact.group != other.group:
            yield Cause.of(Kind.COUPLED, contact.group, other.group)
            if (message := self.rig.messages.get(other.point)) is not None:
                yield Cause.of(Kind.DOUBLED, contact.group, (message[0] & 0x0F) + 1)
        yield from self._of_bleed(contact, other)

    def _of_bleed(self, contact: Contact, other: Contact) -> Causes:
        here, there = self._place(contact), self._place_of(other.line)
        if here < 0 or there < 0:
            return
        lanes = [self.rig.lanes[number >> 3] for number in (here, there)]
        if lanes[0].bank and lanes[0].bank == lanes[1].bank and here & 7 == there & 7:
            yield Cause.of(Kind.BLEED, lanes[0].bank, here & 7)

    def _of_silence(self, contact: Contact) -> Causes:
        yield Cause.of(Kind.DEAD, contact.point)
        yield from self._of_dead_wire(contact.line)
        if isinstance(contact.bus, Pin):
            yield from self._of_dead_wire(contact.bus)
            yield from self._of_matrix_silence(contact, contact.bus)
        else:
            yield Cause.of(Kind.BUS_DEAD, contact.group)
            yield from self._of_register(contact)
            for step in (1, -1):
                yield Cause.of(Kind.STEPPED, contact.point, step)

    def _of_dead_wire(self, wire: Pin) -> Causes:
        yield Cause.of(Kind.LINE_DEAD, wire)
        yield Cause.of(Kind.TURNED, wire.connector)
        for step in (1, -1):
            yield Cause.of(Kind.OFF_ONE, wire.connector, step)

    def _of_matrix_silence(self, contact: Contact, bus: Pin) -> Causes:
        yield Cause.of(Kind.DIODES_REVERSED, contact.group)
        if contact.diode:
            yield Cause.of(Kind.DIODE_REVERSED, contact.point)
            yield Cause.of(Kind.EXCHANGED, *sorted((contact.line.connector, bus.connector)))
        if self.rig.matrix_of(contact) in self.rig.driven_high:
            for other in dict.fromkeys(c.bus for c in self.rig.group(contact.group) if isinstance(c.bus, Pin)):
                if abs(other.number - bus.number) == 1:
                    yield Cause.of(Kind.JOINED, *sorted((self._plug(bus), self._plug(other))))

    def _of_register(self, contact: Contact) -> Causes:
        lead = self.rig.leads.get(self.net.header(contact.line) or contact.line)
        if lead is None or lead.role is not Role.INPUT:
            return
        lane = self.rig.lanes[lead.number >> 3]
        if lane.order is not None:
            yield Cause.of(Kind.REGISTER_DEAD, lane.index, not lane.keyed_high)
            yield Cause.of(Kind.CHAIN_DEAD, lane.order, not lane.keyed_high)
            for step in (1, -1)[: 1 if lane.order == 0 else 2]:
                yield Cause.of(Kind.SLIPPED, lane.order, step)
        if lane.where.startswith("expander"):
            yield Cause.of(Kind.EXPANDER_DEAD, lane.where)

    def _chain_ends(self, quiet: Iterable[str]) -> Causes:
        """Chains that end at any register from the first silent one on."""
        lanes = [self.rig.lanes[place >> 3] for p in quiet if (place := self._place(self.rig.contacts[p])) >= 0]
        for order in sorted({lane.order for lane in lanes if lane.order is not None})[:1]:
            for level in (True, False):
                yield Cause.of(Kind.CHAIN_DEAD, order, level)

    def _of_idle(self, name: str) -> Causes:
        for point in self.hearing.all_called(name):
            yield from self._of_idle_contact(self.rig.contacts[point])

    def _of_idle_contact(self, contact: Contact) -> Causes:
        yield from (Cause.of(Kind.HELD, point) for point in (contact.point, *self._sounding.get(contact.point, ())))
        yield Cause.of(Kind.INVERTED, contact.group)
        for wire in (contact.line, contact.bus):
            if isinstance(wire, Pin):
                yield Cause.of(Kind.GROUNDED, self.net.plug_at(wire))
                yield from (Cause.of(Kind.OFF_ONE, wire.connector, step) for step in (1, -1))
                yield Cause.of(Kind.TURNED, wire.connector)
        if contact.closed_at_rest:
            yield from self._of_silence(contact)
        lead = self.rig.leads[contact.line]
        keyed = lead.role is Role.INPUT and self.rig.lanes[lead.number >> 3].keyed_high
        yield Cause.of(Kind.INPUT_STUCK, contact.line, keyed)
        lane = self.rig.lanes[lead.number >> 3] if lead.role is Role.INPUT else None
        if lane is not None and lane.bank:
            yield Cause.of(Kind.BLEED, lane.bank, lead.number & 7)
        if lane is not None and lane.order is not None:
            yield Cause.of(Kind.REGISTER_DEAD, lane.index, keyed)
            yield from (
                Cause.of(Kind.CHAIN_DEAD, order, keyed) for order in range(max(0, lane.order - 8), lane.order + 1)
            )

    def _of_ghost(self, pressed: frozenset[str], name: str) -> Causes:
        """What would let a contact be heard that is not held: a diode that conducts both ways in an L of keys."""
        ghost = self._heard_as(name)
        if ghost is None:
            return
        yield Cause.of(Kind.DIODES_MISSING, ghost.group)
        held = [(self.rig.contacts[point], *self._crossing(self.rig.contacts[point])) for point in sorted(pressed)]
        rows, lines = (
            {row for _, line, row in held if line == ghost.line},
            {ln for _, ln, row in held if row == ghost.bus},
        )
        for contact, line, row in held:
            if row in rows and line in lines:
                yield Cause.of(Kind.DIODE_SHORTED, contact.point)
                yield Cause.of(Kind.DIODE_REVERSED, contact.point)
            yield from self._of_extra(contact, ghost)

    def _of_lost(self, pressed: frozenset[str], name: str) -> Causes:
        """What would silence a held contact while others are held.

        Its own death, when metal that touches has hidden it, or a shorted diode that a driven row fights through.
        """
        lost = self._heard_as(name)
        if lost is None:
            return
        for point in sorted(pressed):
            contact = self.rig.contacts[point]
            if name in self.hearing.press(point):
                yield Cause.of(Kind.DEAD, point)
            if contact.diode and self._crossing(contact)[0] == lost.line:
                yield Cause.of(Kind.DIODE_SHORTED, point)
                yield Cause.of(Kind.DIODE_REVERSED, point)
        yield Cause.of(Kind.DIODES_MISSING, lost.group)
