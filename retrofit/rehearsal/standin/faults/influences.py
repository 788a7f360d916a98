"""Faults that other parts of the organ bring: a coupler before the tap, a decay capacitor, hum."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import partial
from itertools import pairwise
from random import Random

from retrofit.rehearsal.standin.faults.kind import FaultKind, Spoil
from retrofit.rehearsal.standin.faults.names import FaultError, Names, both
from retrofit.rehearsal.standin.wiring import Flicker, Wiring
from retrofit.survey.problems import shown

LONGEST_LAG_MS = 5000
HUM_HZ = (50, 60, 100, 120)
HUM_GAP_SHARE = 0.3
"""Part of each half wave in which an unsmoothed supply does not key a line; assumed."""


def _couple(pairs: tuple[tuple[str, str], ...], wiring: Wiring) -> None:
    """Let a contact of the coupler, worked by one key, lie beside the contact of the other."""
    contacts = {contact.point: contact for contact in wiring.contacts}
    wiring.contacts += [replace(contacts[keyed], worked_by=player) for player, keyed in pairs]


def _read_couple(names: Names, text: str) -> Spoil:
    words = re.split(r"\s+to\s+", text.strip())
    if len(words) != 2:
        raise FaultError(f"{shown(text)} found, allowed is a group of keys, `to`, and another")
    pairs = _pairs(names, names.group(words[0]), names.group(words[1]))
    if not pairs:
        raise FaultError(f"{shown(text)} found, allowed are two groups that have notes in common")
    return partial(_couple, pairs)


def _pairs(names: Names, player: str, keyed: str) -> tuple[tuple[str, str], ...]:
    """Return the points of both groups that play the same note, one of each."""
    if player == keyed:
        return ()
    own = {names.points[p].note: p for p in reversed(names.group_points(keyed)) if names.points[p].note is not None}
    return tuple((p, own[names.points[p].note]) for p in names.group_points(player) if names.points[p].note in own)


def _draw_couple(names: Names, random: Random) -> str | None:
    drawn = names.drawn_groups()
    coupled = [
        (player, keyed)
        for player in names.groups
        for keyed in names.groups
        if (player in drawn or keyed in drawn) and _pairs(names, player, keyed)
    ]
    return " to ".join(random.choice(coupled)) if coupled else None


def _lag(points: tuple[str, ...], lag_us: int, wiring: Wiring) -> None:
    for contact in wiring.contacts:
        if contact.point in points:
            contact.lag_us = lag_us


def _read_lag(names: Names, text: str) -> Spoil:
    head, _, number = text.strip().rpartition(" ")
    if not re.fullmatch(r"[0-9]{1,4}", number) or not 0 < int(number) <= LONGEST_LAG_MS:
        raise FaultError(f"{shown(text)} found, allowed is a group or a point with 1 to {LONGEST_LAG_MS} ms")
    points = names.group_points(head) if head in names.groups else [names.point(head)]
    return partial(_lag, tuple(points), 1000 * int(number))


def _draw_lag(names: Names, random: Random) -> str | None:
    groups = [group for group in names.drawn_groups() if names.group_points(group)]
    return f"{random.choice(groups)} {random.randrange(50, 1001, 10)}" if groups else None


def _hum(group: str, hz: int, wiring: Wiring) -> None:
    period_us = 1e6 / hz
    flicker = Flicker(period_us, HUM_GAP_SHARE * period_us, regular=True)
    wiring.flickers |= dict.fromkeys((bus for bus in wiring.feeds if bus.startswith(f"{group} bus")), flicker)


def _read_hum(names: Names, text: str) -> Spoil:
    group, _, number = text.strip().rpartition(" ")
    if number not in map(str, HUM_HZ):
        raise FaultError(f"{shown(text)} found, allowed is a group with {', '.join(map(str, HUM_HZ))} Hz")
    found = names.group(group)
    if not any(point in names.pins for point in names.group_points(found)):
        raise FaultError(f"{shown(group)} found, which is on a matrix; allowed are groups whose lines have a supply")
    return partial(_hum, found, int(number))


def _draw_hum(names: Names, random: Random) -> str | None:
    groups = [g for g in names.drawn_groups() if any(point in names.pins for point in names.group_points(g))]
    return f"{random.choice(groups)} {random.choice(HUM_HZ)}" if groups else None


def _touch(one: str, other: str, wiring: Wiring) -> None:
    """Let one key's contact be moved by another key as well."""
    wiring.contacts += [replace(contact, worked_by=one) for contact in wiring.contacts if contact.point == other]


def _read_touch(names: Names, text: str) -> Spoil:
    return partial(_touch, *both(text, names.point))


def _draw_touch(names: Names, random: Random) -> str | None:
    points = names.drawn_points({**names.pins, **names.crossings})
    pairs = [(a, b) for a, b in pairwise(points) if a.split(".")[0] == b.split(".")[0]]
    if not pairs:
        return None
    one, other = random.choice(pairs)
    return " and ".join(map(names.words, random.choice(((one, other), (other, one)))))


KINDS = (
    FaultKind(
        "couple",
        "GROUP to GROUP",
        "the second group's lines are tapped after a coupler that is drawn: the first one's keys key them too",
        _read_couple,
        _draw_couple,
    ),
    FaultKind(
        "late release",
        "GROUP or POINT MILLISECONDS",
        "a line is tapped after a decay capacitor, and stays keyed for so long",
        _read_lag,
        _draw_lag,
    ),
    FaultKind("hum", "GROUP HERTZ", "the supply of a group's lines has gaps", _read_hum, _draw_hum),
    FaultKind(
        "bent contact", "POINT and POINT", "the first key moves the contact of the second too", _read_touch, _draw_touch
    ),
)
