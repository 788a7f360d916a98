"""Contacts that never speak alone: notes doubled by a coupler, and contacts that show another's state.

It is read from the companions of each contact.  A hand doubles a note too, in half of its strokes at the most: that is
the chance against which company is weighed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from retrofit.proving.chance import at_least, trials_needed
from retrofit.proving.engine import Engine
from retrofit.proving.expected import ExpectedPoint
from retrofit.proving.signature import Contact, Signature, SignatureKind, contacts_of, level_of
from retrofit.proving.tally import ContactTally

BY_HAND = 0.5
"""Share of strokes in which a player doubles a note in the same instant, at the most (common practice, no source)."""
CONSTANT = 0.95
"""From this share on, company is constant."""
DIFFERENT_KEYS = 5
"""A coupler doubles all keys: so many different ones must show it."""
OCTAVES = (0, 12, -12)
"""What couplers add: the same note, or its octave (common practice, no source)."""

Notes = Mapping[str, tuple[str, int]]
"""Group and note of each key of the plan by its id."""


class _Relation(NamedTuple):
    """Another group, or another channel of no group, that speaks so many semitones away."""

    target: str
    semitones: int


class _Strokes(NamedTuple):
    hits: int
    strokes: int
    keys: int


def double_signatures(engine: Engine) -> Iterator[Signature]:
    """Yield couplers first, then the contacts whose company no coupler explains."""
    contacts, level = contacts_of(engine), level_of(engine)
    notes = {point.id: (point.group, point.note) for point in engine.expected.contacts if point.note is not None}
    explained: set[tuple[str, _Relation]] = set()
    for group in engine.groups:
        members = [contact for contact in contacts if contact[0].group == group]
        for relation in dict.fromkeys(r for point, tally in members for r in _relations(point, tally, notes)):
            found = _counted(members, relation, notes)
            mirrored = (relation.target, _Relation(group, -relation.semitones)) in explained
            if found.keys < 2 or found.hits < CONSTANT * found.strokes or mirrored:
                continue
            explained.add((group, relation))
            yield _coupled(group, relation, found, level)
    yield from _company(engine, notes, explained, level)


def _relations(point: ExpectedPoint, tally: ContactTally, notes: Notes) -> list[_Relation]:
    """Return how a contact's companions stand to it, as far as a coupler could be the cause."""
    if point.note is None:
        return []
    found = (_relation(point, name, notes) for name in tally.companions)
    return [r for r in found if r is not None and r.semitones in OCTAVES]


def _relation(point: ExpectedPoint, name: str, notes: Notes) -> _Relation | None:
    found = notes.get(name) or _stray_note(name)
    return None if point.note is None or found is None else _Relation(found[0], found[1] - point.note)


def _stray_note(name: str) -> tuple[str, int] | None:
    """Return channel and note of a stray, whose name is its first two bytes; None for anything else."""
    status, _, data = name.partition(" ")
    if len(status) != 2 or status[0] != "9" or len(data) != 2:
        return None
    return f"channel {int(status[1], 16) + 1}", int(data, 16)


def _counted(members: list[Contact], relation: _Relation, notes: Notes) -> _Strokes:
    """Count the strokes in which the company came, of keys whose company lies where the target has notes at all."""
    hits = {point.id: _hits(point, tally, relation, notes) for point, tally in members}
    reached = [point.note for point, _ in members if hits[point.id] and point.note is not None]
    among = [(p, t) for p, t in members if reached and p.note is not None and min(reached) <= p.note <= max(reached)]
    strokes = sum(tally.strokes for _, tally in among)
    return _Strokes(sum(hits[point.id] for point, _ in among), strokes, sum(hits[p.id] > 0 for p, _ in among))


def _hits(point: ExpectedPoint, tally: ContactTally, relation: _Relation, notes: Notes) -> int:
    return sum(n for name, n in tally.companions.items() if _relation(point, name, notes) == relation)


def _coupled(group: str, relation: _Relation, found: _Strokes, level: float) -> Signature:
    where = {0: "the same note", 12: "the octave above", -12: "the octave below"}[relation.semitones]
    needed = trials_needed(BY_HAND, level)
    return Signature(
        SignatureKind.DOUBLED,
        group,
        f"with {found.hits} of {found.strokes} strokes of {found.keys} keys {where} of {relation.target} spoke too",
        f"less than {CONSTANT:.0%}; {needed} strokes of {DIFFERENT_KEYS} keys are needed to tell",
        "a coupler is drawn, and the lines are tapped behind it",
        at_least(found.hits, found.strokes, BY_HAND) < level and found.keys >= DIFFERENT_KEYS,
    )


def _company(engine: Engine, notes: Notes, explained: set[tuple[str, _Relation]], level: float) -> Iterator[Signature]:
    known = {p.id: (p, tally) for p, tally in zip(engine.expected.contacts, engine.contacts, strict=True)}
    for point, tally in contacts_of(engine):
        for name, hits in tally.companions.items():
            relation = _relation(point, name, notes)
            if relation is not None and _is_explained(point.group, relation, explained):
                continue
            if hits >= CONSTANT * tally.strokes and at_least(hits, tally.strokes, BY_HAND) < level:
                yield _joined(point, tally, hits, name, known.get(name))


def _is_explained(group: str, relation: _Relation, explained: set[tuple[str, _Relation]]) -> bool:
    return (group, relation) in explained or ((relation.target, _Relation(group, -relation.semitones)) in explained)


def _joined(point: ExpectedPoint, tally: ContactTally, hits: int, name: str, other: Contact | None) -> Signature:
    kind, reason = SignatureKind.TOGETHER, "two lines that touch, or one contact read twice"
    if other is not None and _bleeds(point, other):
        kind, reason = SignatureKind.BLEED, "a neighbour's level that has not settled when the next one is read"
    words = name if other is None else other[0].words
    return Signature(
        kind,
        point.id,
        f"in {hits} of {tally.strokes} strokes {words} spoke in the same instant",
        f"less than {CONSTANT:.0%}",
        reason,
    )


def _bleeds(point: ExpectedPoint, other: Contact) -> bool:
    """Return whether the other is a neighbour that mostly speaks without this one."""
    neighbour, tally = other
    near = neighbour.group == point.group and abs(neighbour.position - point.position) == 1
    return near and 2 * tally.companions.get(point.id, 0) < tally.strokes
