"""What disagreements are read with: which contact a name stands for, and where a supposed console leads its wires."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from retrofit.proving.diagnosis.align import Heard
from retrofit.proving.diagnosis.hearing import Hearing
from retrofit.proving.diagnosis.net import Net
from retrofit.proving.diagnosis.rig import Contact, Pin, Rig, Role
from retrofit.proving.diagnosis.score import Fit

STRAY_BYTES = 2
"""A message of no point is called by so many of its bytes; one that is shorter tells neither channel nor number."""


@dataclass
class Clues:
    """A supposed console, asked about its wires."""

    rig: Rig
    net: Net
    hearing: Hearing

    def _heard_as(self, name: str) -> Contact | None:
        point = self.hearing.called(name)
        return None if point is None else self.rig.contacts[point]

    def _guessed(self, fit: Fit) -> list[tuple[str, Heard]]:
        """Pair contacts that the run did not let hear with strays in the order of both: a guess at who made which."""
        missing = fit.missing
        if not missing or not fit.strays:
            return []
        if len(missing) == len(fit.strays):
            return [*zip(missing, fit.strays, strict=True), *zip(missing[::-1], fit.strays, strict=True)]
        ends = zip(missing[::-1], fit.strays[::-1], strict=False)
        return [*zip(missing, fit.strays, strict=False), *ends, *zip(missing[::-1], fit.strays, strict=False)]

    def _moved_pairs(self, pairs: Iterable[tuple[str, Heard]]) -> Iterator[tuple[Contact, Contact]]:
        for point, heard in pairs:
            for name in sorted(heard):
                other = self._heard_as(name)
                if other is not None and name not in self.hearing.press(point):
                    yield self.rig.contacts[point], other

    @cached_property
    def _sounding(self) -> dict[str, list[str]]:
        """Return which contacts let each point be heard, alone or with no other of its own group."""
        found: dict[str, list[str]] = {}
        for point, contact in self.rig.contacts.items():
            heard = [other for name in self.hearing.press(point) if (other := self._heard_as(name)) is not None]
            own = [other for other in heard if other.group == contact.group]
            if len(own or heard) == 1:
                found.setdefault((own or heard)[0].point, []).append(point)
        return found

    def _plug(self, wire: Pin) -> Pin:
        return self.net.plugged.get(wire, wire) or wire

    def _place(self, contact: Contact) -> int:
        """Return the place of the input that a contact's wire is supposed to reach, or -1."""
        return self._place_of(self.net.header(contact.line) or contact.line)

    def _place_of(self, pin: Pin) -> int:
        lead = self.rig.leads.get(pin)
        return lead.number if lead is not None and lead.role is Role.INPUT else -1

    def _crossing(self, contact: Contact) -> tuple[Pin, Pin | str]:
        """Return the pins of headers that a contact's wires are supposed to meet: its line's and its bus's."""
        bus = contact.bus if isinstance(contact.bus, str) else self.net.header(contact.bus) or contact.bus
        return self.net.header(contact.line) or contact.line, bus


def bytes_of(words: str) -> bytes | None:
    """Return the two bytes that a message of no point is called by, or None where the words are none."""
    try:
        found = bytes.fromhex(words)
    except ValueError:
        return None
    return found if len(found) == STRAY_BYTES else None
