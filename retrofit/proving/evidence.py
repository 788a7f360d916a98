"""What was observed of one group of contacts: the material from which a diagnosis is made.

Everything is told in point ids; a message that belongs to no point of the plan is told in its own words, as
`stray_words` gives them.  Times are microseconds since the run began.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple


class HeardPoint(NamedTuple):
    """One point as it was heard during one press.

    `on_us` is its first on, `off_us` its last off, or None while it never went off.  `edges` counts all its ons and
    offs in the press: two when the contact was clean.
    """

    point: str
    on_us: int
    off_us: int | None
    edges: int = 2


class Stroke(NamedTuple):
    """One press: everything heard from its first message until all was quiet again.

    `asked` is the point that the person was asked to press just before, or None when he played on in his own order.
    `heard` stands in the order of the first messages; it is empty when nothing came although a press was asked for.
    """

    heard: tuple[HeardPoint, ...]
    asked: str | None = None


@dataclass(frozen=True, slots=True)
class Chord:
    """Several points held together on request, and everything that was on while they were held."""

    pressed: frozenset[str]
    heard: frozenset[str]


@dataclass(frozen=True, slots=True)
class GroupEvidence:
    """What is known of one group.

    `idle` is what was on while nothing was touched.  `run` is a run over the group from its first contact to its last,
    in the order in which it was heard; a person may leave a contact out, or strike one twice.  `asked` are single
    presses that were asked for by name.  `excused` are points known as dead or closed, not fitted or left out.
    """

    group: str
    idle: frozenset[str] = frozenset()
    run: tuple[Stroke, ...] = ()
    asked: tuple[Stroke, ...] = ()
    chords: tuple[Chord, ...] = ()
    excused: frozenset[str] = field(default_factory=frozenset)


def stray_words(message: bytes) -> str:
    """Return what a message of no point is called: its first two bytes, as in `90 61`, for the third is a strength."""
    return message[:2].hex(" ").upper()
