"""The chord tests of a group on a diode matrix: its keys, what cannot be played, and whether ghosts are read."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.load import Catalogue
from retrofit.catalogue.parts import Board
from retrofit.circuits.matrix_drive import driver_ohms
from retrofit.circuits.result import Span
from retrofit.circuits.sense.logic_input import pin_input
from retrofit.circuits.sense.matrix_network import Matrix
from retrofit.plan.matrix_scan import matrix_diode
from retrofit.plan.model import ConversionPlan, PointPlan
from retrofit.scan.addresses import MatrixAddress
from retrofit.scan.matrix_faults.chord_plan import ChordPlan, chords_as_rings, chords_for_hands
from retrofit.scan.matrix_faults.crossings import AddressedMatrix, Crossing, addressed_matrix
from retrofit.scan.matrix_faults.levels import GhostLevel, ghost_level, heaviest_load
from retrofit.scan.matrix_faults.network import GHOST_DROPS
from retrofit.scan.matrix_faults.search import Watch
from retrofit.survey.contacts import Condition, Group, KeyGroup
from retrofit.survey.points import Point
from retrofit.survey.wiring import DiodeFound


class NoChordsError(ValueError):
    """A group has no chord tests; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class GroupChords:
    """The chord tests of one group.

    Keys are note numbers, or places in the group counted from 1 where its points are no keys.  `names` are the points
    by number, `crossings` every address of the group, `key_at` the key at each crossing that is held or heard.
    `not_played` are points whose contact cannot be closed, `closed_at_rest` those to be put right before.
    """

    group: str
    names: dict[int, str]
    crossings: dict[int, MatrixAddress]
    key_at: dict[Crossing, int]
    tests: ChordPlan
    levels: tuple[GhostLevel, ...]
    not_played: tuple[str, ...]
    closed_at_rest: tuple[str, ...]


_CANNOT_CLOSE = (Condition.DEAD, Condition.NOT_FITTED, Condition.LEFT_OUT)


def group_chords(
    plan: ConversionPlan,
    catalogue: Catalogue,
    group_id: str,
    *,
    rings: bool = False,
    watch: Watch | None = None,
    muted: frozenset[str] = frozenset(),
) -> GroupChords:
    """Return the chord tests of a group, for two hands or as rings.  Raises `NoChordsError` where it has none.

    `muted` are points that stay closed and that the board therefore does not send: they are neither held nor heard.
    """
    group = next(group for group in plan.job.groups if group.id == group_id)
    crossings = group_crossings(plan, group)
    played = {key: found for key, found in crossings.items() if closes(found[0]) and found[0].point.id not in muted}
    addressed = _addressed(crossings, played, muted)
    matrix = addressed.matrix
    tests = chords_as_rings(matrix) if rings else chords_for_hands(matrix, watch=watch)
    return GroupChords(
        group=group_id,
        names={key: point_name(point.point) for key, (point, _) in crossings.items()},
        crossings={key: address for key, (_, address) in crossings.items()},
        key_at={
            addressed.crossings[address]: key
            for key, (_, address) in crossings.items()
            if address in addressed.crossings
        },
        tests=tests,
        levels=_levels(tests, group, catalogue.boards[plan.board], catalogue),
        not_played=tuple(point.point.id for key, (point, _) in crossings.items() if key not in played),
        closed_at_rest=tuple(
            point.point.id
            for point, _ in played.values()
            if point.point.found.condition is Condition.CIPHERING or point.point.closed_at_rest
        ),
    )


def group_crossings(plan: ConversionPlan, group: Group) -> dict[int, tuple[PointPlan, MatrixAddress]]:
    """Return the points of a group that have a crossing, by number.  Raises `NoChordsError` where it has none."""
    _refuse(group)
    points = [point for point in plan.points if point.point.group == group.id]
    placed = {_number(point): (point, point.address) for point in points if isinstance(point.address, MatrixAddress)}
    if not placed:
        elsewhere = next((str(point.address) for point in points if point.address is not None), None)
        found = f"its points lie elsewhere, the first at {elsewhere}" if elsewhere else "none of its points has a place"
        raise NoChordsError(
            f"{group.id} is not on a diode matrix: {found}; ghosts come from matrices alone, where keys share rows and "
            'columns; a group with wanted.interface = "matrix" has chord tests'
        )
    return placed


def _refuse(group: Group) -> None:
    if isinstance(group, KeyGroup) and len(group.contacts) > 1:
        raise NoChordsError(
            f"{group.id} has {len(group.contacts)} contacts under each key; a chord is reckoned with one crossing a "
            "key; give each set of contacts a group of its own"
        )
    if group.wiring.diodes is DiodeFound.NONE:
        raise NoChordsError(
            f'{group.id} has no diodes (wiring.diodes = "none"): every three keys at the corners of a rectangle make '
            "a ghost at the fourth; fit a diode at each key, or bring the group to the chain"
        )


def _number(point: PointPlan) -> int:
    """Return the note of a key, or the place in its group, counted from 1, of any other point."""
    note = point.point.note
    return point.point.position + 1 if note is None else note


def point_name(point: Point) -> str:
    """Return what a point is called on the console, with its footage where it has one."""
    return f"{point.name or point.id} {point.footage}".rstrip()


def closes(point: PointPlan) -> bool:
    """Return whether the contact of a point can be closed."""
    return point.point.found.condition not in _CANNOT_CLOSE


def _addressed(
    crossings: dict[int, tuple[PointPlan, MatrixAddress]],
    played: dict[int, tuple[PointPlan, MatrixAddress]],
    muted: frozenset[str],
) -> AddressedMatrix:
    heard = (
        address
        for point, address in crossings.values()
        if point.message is not None and point.message.on and point.point.id not in muted
    )
    return addressed_matrix({key: address for key, (_, address) in played.items()}, heard)


def _levels(tests: ChordPlan, group: Group, board: Board, catalogue: Catalogue) -> tuple[GhostLevel, ...]:
    wiring, known = group.wiring, group.wiring.diodes is not DiodeFound.UNKNOWN
    contact = wiring.contact_resistance.value
    network = Matrix(
        diode=matrix_diode(group, catalogue) if known else None,
        cable=catalogue.cables["unknown"],
        row_ohms=driver_ohms(board),
        series_ohms=None if contact is None else Span.exact(contact),
    )
    chords = (*tests.chords, *(test.chord for test in tests.by_three_keys))
    if not chords:
        return ()
    load = heaviest_load(tests.matrix, chords)
    return tuple(ghost_level(fault, load, pin_input(board), network) for fault in GHOST_DROPS)
