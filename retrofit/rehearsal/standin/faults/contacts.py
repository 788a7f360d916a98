"""Faults of contacts and of the diodes beside them."""

from __future__ import annotations

from collections.abc import Collection
from functools import partial
from random import Random

from retrofit.rehearsal.standin.faults.kind import FaultKind, Spoil
from retrofit.rehearsal.standin.faults.names import FaultError, Names
from retrofit.rehearsal.standin.wiring import Contact, Diode, Making, Wiring
from retrofit.survey.problems import shown


def _of(points: Collection[str], wiring: Wiring) -> list[Contact]:
    return [contact for contact in wiring.contacts if contact.point in points]


def _make(point: str, making: Making, wiring: Wiring) -> None:
    for contact in _of((point,), wiring):
        contact.making = making


def _read_making(making: Making, names: Names, text: str) -> Spoil:
    return partial(_make, names.point(text), making)


def _dirty(point: str, wiring: Wiring) -> None:
    for contact in _of((point,), wiring):
        contact.chatters = True


def _read_dirty(names: Names, text: str) -> Spoil:
    return partial(_dirty, names.point(text))


def _draw_point(names: Names, random: Random) -> str | None:
    points = names.drawn_points({**names.pins, **names.crossings})
    return names.words(random.choice(points)) if points else None


def _set_diodes(points: tuple[str, ...], diode: Diode, wiring: Wiring) -> None:
    for contact in _of(points, wiring):
        contact.diode = diode


def _read_diode(diode: Diode, names: Names, text: str) -> Spoil:
    return partial(_set_diodes, (_point_on_matrix(names, text),), diode)


def _point_on_matrix(names: Names, text: str) -> str:
    point = names.point(text)
    if point not in names.crossings:
        raise FaultError(f"{shown(text)} found, which has no diode; allowed are points on a matrix")
    return point


def _draw_diode(names: Names, random: Random) -> str | None:
    points = names.drawn_points(names.crossings)
    return names.words(random.choice(points)) if points else None


def _read_diodes(diode: Diode, names: Names, text: str) -> Spoil:
    group = names.group(text)
    points = tuple(point for point in names.group_points(group) if point in names.crossings)
    if not points:
        raise FaultError(f"{shown(text)} found, which has no diodes; allowed are groups on a matrix")
    return partial(_set_diodes, points, diode)


def _draw_matrix_group(names: Names, random: Random) -> str | None:
    groups = [g for g in names.drawn_groups() if any(point in names.crossings for point in names.group_points(g))]
    return random.choice(groups) if groups else None


KINDS = (
    FaultKind("dead contact", "POINT", "a contact never makes", partial(_read_making, Making.NEVER), _draw_point),
    FaultKind("stuck contact", "POINT", "a contact never opens", partial(_read_making, Making.ALWAYS), _draw_point),
    FaultKind("dirty contact", "POINT", "a contact breaks again and again while held", _read_dirty, _draw_point),
    FaultKind("short diode", "POINT", "a diode conducts both ways", partial(_read_diode, Diode.SHORTED), _draw_diode),
    FaultKind("reverse diode", "POINT", "a diode is in backwards", partial(_read_diode, Diode.REVERSED), _draw_diode),
    FaultKind("open diode", "POINT", "a diode conducts no way", partial(_read_diode, Diode.OPEN), _draw_diode),
    FaultKind(
        "bridge diodes",
        "GROUP",
        "a group was built without diodes, with wire in their place",
        partial(_read_diodes, Diode.SHORTED),
        _draw_matrix_group,
    ),
    FaultKind(
        "reverse diodes",
        "GROUP",
        "every diode of a group is in backwards",
        partial(_read_diodes, Diode.REVERSED),
        _draw_matrix_group,
    ),
)
