"""What one group says of itself, against itself: its compass, its keys, its commons."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from retrofit.survey.contacts import Compass, ContactGroup, Group, KeyGroup
from retrofit.survey.faults import Fault
from retrofit.survey.points import key_contacts
from retrofit.survey.problems import ProblemKind, did_you_mean, listed, shown
from retrofit.survey.toml_lines import Path

NO_NOTE = -1
"""Stands in an order table for a contact that plays no note."""


def group_faults(path: Path, group: Group) -> Iterator[Fault]:
    """Yield every way in which a group contradicts itself."""
    yield from _common_faults(path, group)
    if isinstance(group, KeyGroup):
        compass = (*path, "compass")
        yield from (
            _order_faults(compass, group.compass) if group.compass.order else _note_faults(compass, group.compass)
        )
        yield from _key_faults(path, group)
        yield from _contact_ranges(path, group)


def _note_faults(path: Path, compass: Compass) -> Iterator[Fault]:
    plain = range(compass.lowest, compass.lowest + compass.count)
    span = f"the compass {plain[0]} to {plain[-1]}"
    for position, note in enumerate(compass.missing):
        if note not in plain:
            place = (*path, "missing", position)
            yield Fault(ProblemKind.MISSING_NOTE_OUTSIDE, place, f"note {note}", f"notes of {span}", "take it out")
    for position, note in enumerate(compass.extra):
        if note in plain:
            place = (*path, "extra", position)
            yield Fault(ProblemKind.EXTRA_NOTE_INSIDE, place, f"note {note}", f"notes outside {span}", "take it out")


def _order_faults(path: Path, compass: Compass) -> Iterator[Fault]:
    place = (*path, "order")
    for note, times in Counter(n for n in compass.order if n != NO_NOTE).items():
        if times > 1:
            remedy = "write -1 for a contact that plays nothing; a second set of contacts goes under contacts"
            yield Fault(ProblemKind.ORDER_REPEATS_NOTE, place, f"note {note} {times} times", "a note once", remedy)
    playing = sum(note != NO_NOTE for note in compass.order)
    if playing != compass.count:
        found = f"{playing} contacts that play a note, but count = {compass.count}"
        yield Fault(ProblemKind.ORDER_DISAGREES, place, found, "as many as count says", "correct count or order")
    if compass.missing or compass.extra:
        found = "missing or extra beside an order table"
        yield Fault(ProblemKind.ORDER_DISAGREES, place, found, "the order table alone", "say it all in order")


def _key_faults(path: Path, group: KeyGroup) -> Iterator[Fault]:
    notes = set(key_contacts(group)) - {NO_NOTE}
    contacts = {contact.id: contact for contact in group.contacts}
    for position, point in enumerate(group.points):
        place = (*path, "points", position)
        contact = contacts.get(point.contact or group.contacts[0].id)
        if contact is None:
            remedy = did_you_mean(point.contact, contacts) or "add it under contacts"
            yield Fault(
                ProblemKind.NO_SUCH_CONTACT, (*place, "contact"), shown(point.contact), listed(contacts), remedy
            )
        elif point.note not in notes or not contact.covers(point.note):
            allowed = f"a note that {shown(contact.id)} of this group has"
            remedy = "correct the note, or the compass"
            yield Fault(ProblemKind.NO_SUCH_KEY, (*place, "note"), f"note {point.note}", allowed, remedy)


def _contact_ranges(path: Path, group: KeyGroup) -> Iterator[Fault]:
    for position, contact in enumerate(group.contacts):
        if contact.lowest is not None and contact.highest is not None and contact.lowest > contact.highest:
            place = (*path, "contacts", position, "lowest")
            found = f"lowest {contact.lowest} above highest {contact.highest}"
            yield Fault(ProblemKind.RANGE_BACKWARDS, place, found, "lowest up to highest", "exchange them")


def _common_faults(path: Path, group: Group) -> Iterator[Fault]:
    size = _wired_contacts(group)
    for position, common in enumerate(group.wiring.commons):
        place = (*path, "wiring", "commons", position)
        if common.last is not None and common.first > common.last:
            found = f"first {common.first} after last {common.last}"
            yield Fault(ProblemKind.RANGE_BACKWARDS, (*place, "first"), found, "first up to last", "exchange them")
        if size is not None and max(common.first, common.last or 1) > size:
            found = f"contacts up to {max(common.first, common.last or 1)}"
            key = "first" if common.first > size else "last"
            remedy = "contacts count from 1 within the group"
            yield Fault(ProblemKind.BEYOND_CONTACTS, (*place, key), found, f"1 to {size}", remedy)


def _wired_contacts(group: Group) -> int | None:
    """Return how many contacts the group has in its order of wiring; shoes and rollers are not counted here."""
    match group:
        case KeyGroup():
            return len(key_contacts(group)) * len(group.contacts)
        case ContactGroup():
            return len(group.points)
        case _:
            return None
