"""Which two causes could be behind what disagrees, where neither alone brings what is heard any nearer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import product

from retrofit.midi.messages import NOTE_ON
from retrofit.plan.connectors import WAYS
from retrofit.proving.diagnosis.align import Heard
from retrofit.proving.diagnosis.causes import Cause, Kind
from retrofit.proving.diagnosis.clues import bytes_of
from retrofit.proving.diagnosis.hearing import DATA_MASK
from retrofit.proving.diagnosis.rig import Contact, Pin
from retrofit.proving.diagnosis.score import Fit
from retrofit.proving.diagnosis.suggest_moves import Moves

MOST_PAIRS = 4
"""Pairs of a sort that are tried at a time."""
FEWEST_MOVED = 6
"""Presses more than these must ask for the same two causes."""
_PLUGS = (Kind.TURNED, Kind.OFF_ONE, Kind.EXCHANGED)


class Pairs(Moves):
    """Suggests two causes at a time."""

    def pairs(self, fits: Sequence[Fit]) -> Iterator[tuple[Cause, Cause]]:
        """Yield causes that only together bring nearer what is heard: a channel and a shift, a coupler and no bus."""
        for fit in fits:
            pairs = (*fit.wrong, *self._guessed(fit))
            yield from self._of_idle_elsewhere(fit)
            yield from self._octaves(pairs)
            yield from self._both_plugs(pairs)
            yield from self._turned_and_off(pairs)
            yield from self._slips_between(pairs)
            for sort in (self._of_other_setting, self._of_coupler_alone, self._of_bent_alone):
                votes = Counter(pair for contact, name in self._single_names(pairs) for pair in sort(contact, name))
                yield from (pair for pair, _ in votes.most_common(MOST_PAIRS))

    def _single_names(self, pairs: Iterable[tuple[str, Heard]]) -> Iterator[tuple[Contact, str]]:
        """Yield every name heard of presses of which nothing was heard that should be."""
        for point, heard in pairs:
            if not self.hearing.press(point) & heard:
                yield from ((self.rig.contacts[point], name) for name in sorted(heard))

    def _of_idle_elsewhere(self, fit: Fit) -> Iterator[tuple[Cause, Cause]]:
        """Yield a wrong channel with inverted polarity: on at idle is what no key of the group is heard as."""
        sent = [self.rig.messages.get(name) or bytes_of(name) for name in fit.idle_more]
        channels = Counter((message[0] & 0x0F) + 1 for message in sent if message and message[0] & 0xF0 == NOTE_ON)
        groups = dict.fromkeys(self.rig.contacts[point].group for point, _ in (*fit.wrong, *self._guessed(fit)))
        for group, (channel, count) in product(groups, sorted(channels.items())):
            if count > FEWEST_MOVED and channel not in self._channels(group):
                yield Cause.of(Kind.CHANNEL, group, channel), Cause.of(Kind.INVERTED, group)

    def _channels(self, group: str) -> set[int]:
        sent = (self.rig.messages.get(contact.point) for contact in self.rig.group(group))
        return {(message[0] & 0x0F) + 1 for message in sent if message is not None}

    def _turned_and_off(self, pairs: Iterable[tuple[str, Heard]]) -> Iterator[tuple[Cause, Cause]]:
        """Yield, the likeliest first, a plug that sits one pin off and is turned round."""
        votes: Counter[tuple[Cause, Cause]] = Counter()
        for contact, other in self._moved_pairs(pairs):
            plug, number = self._plug(contact.line)
            step = WAYS + 1 - number - other.line.number
            if plug == other.line.connector and abs(step) == 1:
                votes[Cause.of(Kind.OFF_ONE, plug, step), Cause.of(Kind.TURNED, plug)] += 1
        yield from (pair for pair, _ in votes.most_common(MOST_PAIRS))

    def _both_plugs(self, pairs: Iterable[tuple[str, Heard]]) -> Iterator[tuple[Cause, Cause]]:
        """Yield, the likeliest first, what would move a matrix's column together with what would move its row."""
        votes: Counter[tuple[Cause, Cause]] = Counter()
        for contact, other in self._moved_pairs(pairs):
            if isinstance(contact.bus, Pin) and isinstance(other.bus, Pin):
                lines, buses = self._of_wires(contact.line, other.line), self._of_wires(contact.bus, other.bus)
                votes.update([*dict.fromkeys(product(filter(_of_plug, lines), filter(_of_plug, buses)))])
        yield from (pair for pair, count in votes.most_common(MOST_PAIRS) if count > FEWEST_MOVED)

    def _slips_between(self, pairs: Iterable[tuple[str, Heard]]) -> Iterator[tuple[Cause, Cause]]:
        """Yield a clock too many that one too few further on makes good again, and the other way about."""
        firsts: dict[int, list[int]] = {}
        for slip in self._slips(pairs):
            register, step = slip.parts
            firsts.setdefault(step, []).append(register)
        end = max((lane.order for lane in self.rig.lanes.values() if lane.order is not None), default=0)
        for step, registers in firsts.items():
            last = max(registers)
            for first, beyond in product(sorted({*registers})[:MOST_PAIRS], (last, last + 1)):
                if first < beyond <= end:
                    yield Cause.of(Kind.SLIPPED, beyond, -step), Cause.of(Kind.SLIPPED, first, step)

    def _of_coupler_alone(self, contact: Contact, name: str) -> Iterator[tuple[Cause, Cause]]:
        """Yield what would let keys be heard by a coupler alone, while their own group is silent."""
        other = self._heard_as(name)
        if other is None or other.group == contact.group or contact.note is None or other.note != contact.note:
            return
        if isinstance(contact.bus, str):
            yield Cause.of(Kind.BUS_DEAD, contact.group), Cause.of(Kind.COUPLED, contact.group, other.group)
        else:
            yield Cause.of(Kind.DIODES_REVERSED, contact.group), Cause.of(Kind.COUPLED, contact.group, other.group)

    def _of_bent_alone(self, contact: Contact, name: str) -> Iterator[tuple[Cause, Cause]]:
        """Yield what would let a key be heard by its neighbour's contact alone."""
        other = self._heard_as(name)
        if other is not None and other.group == contact.group and abs(other.position - contact.position) == 1:
            yield Cause.of(Kind.DEAD, contact.point), Cause.of(Kind.BENT, contact.point, other.point)

    def _of_other_setting(self, contact: Contact, name: str) -> Iterator[tuple[Cause, Cause]]:
        own = self.rig.messages.get(contact.point)
        sent = self.rig.messages.get(name) or bytes_of(name)
        if own is None or sent is None or own[0] & 0xF0 != sent[0] & 0xF0:
            return
        if own[0] != sent[0] and own[1] != sent[1]:
            channel = Cause.of(Kind.CHANNEL, contact.group, (sent[0] & 0x0F) + 1)
            yield channel, Cause.of(Kind.SHIFTED, contact.group, sent[1] - own[1])
            if isinstance(contact.bus, str):
                yield channel, Cause.of(Kind.MIRRORED, contact.group)

    def _octaves(self, pairs: Iterable[tuple[str, Heard]]) -> Iterator[tuple[Cause, Cause]]:
        """Yield an octave together with what would move contacts to where they are then heard."""
        undone: dict[tuple[str, int], list[tuple[str, Heard]]] = {}
        for (point, heard), octave in product(pairs, (-12, 12)):
            group = self.rig.contacts[point].group
            there = [self._sends(group, name, -octave) for name in sorted(heard)]
            found = frozenset(other.point for other in there if other is not None and other.point != point)
            if found:
                undone.setdefault((group, octave), []).append((point, found))
        for (group, octave), moved in undone.items():
            if len(moved) > FEWEST_MOVED:
                yield from ((Cause.of(Kind.SHIFTED, group, octave), cause) for cause in self._of_many(moved))

    def _of_many(self, pairs: Sequence[tuple[str, Heard]]) -> Iterator[Cause]:
        """Yield what would move many contacts at once."""
        votes: Counter[Cause] = Counter()
        for contact, other in self._moved_pairs(pairs):
            votes.update([*dict.fromkeys(self._of_wires(contact.line, other.line))])
            if isinstance(contact.bus, Pin) and isinstance(other.bus, Pin):
                votes.update([*dict.fromkeys(self._of_wires(contact.bus, other.bus))])
        yield from (cause for cause, count in votes.most_common(MOST_PAIRS) if count > FEWEST_MOVED)
        yield from self._steps(pairs)
        yield from dict.fromkeys(self._slips(pairs))

    def _sends(self, group: str, name: str, semitones: int) -> Contact | None:
        """Return the contact of a group whose message is so many semitones from what was heard."""
        sent = self.rig.messages.get(name) or bytes_of(name)
        if sent is None:
            return None
        wanted = bytes((sent[0], sent[1] + semitones & DATA_MASK))
        point = self.rig.points_of.get(wanted)
        contact = None if point is None else self.rig.contacts[point]
        return contact if contact is not None and contact.group == group else None


def _of_plug(cause: Cause) -> bool:
    return cause.kind in _PLUGS
