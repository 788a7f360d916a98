"""An existing diode board of a group: what its readings say, and how it is connected to our rows and columns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

from retrofit.scan.matrix_faults.readings import Contradiction, ContradictionKind, DiodeReading
from retrofit.scan.matrix_faults.recognise import BoardFound, recognise
from retrofit.scan.matrix_faults.reuse import Reuse, reuse
from retrofit.survey.bench import ReadingState
from retrofit.survey.contacts import Group, KeyGroup
from retrofit.survey.diode_checks import diode_keys
from retrofit.survey.diode_readings import DiodeTest, pin_words
from retrofit.survey.points import group_points
from retrofit.survey.wiring import Common

LEAST_DROP_VOLTS = 0.1
"""A sound diode shows more in a meter's diode range, germanium and Schottky too (common practice, no source)."""


class NoDiodeBoardError(ValueError):
    """A group can have no diode board; the text says why."""


class RowDrive(StrEnum):
    """Whether the pins that the survey names as commons can be our rows, which are pulled low."""

    FITS = "fits"
    TURNED = "turned"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class DiodeBoard:
    """What is known of a group's diode board.

    `board` and `reuse` number keys by note, or by place in the group from 1; `names` are those that are no notes.
    `not_counted` are readings that tell nothing, and `unread` the keys of which no reading can be believed.
    """

    group: str
    names: dict[int, str]
    board: BoardFound
    reuse: Reuse
    drive: RowDrive
    not_counted: tuple[DiodeTest, ...]
    unread: tuple[int, ...]


def diode_board(group: Group) -> DiodeBoard:
    """Return what a loaded group's diode readings say.  Raises `NoDiodeBoardError` for shoes."""
    keys = diode_keys(group)
    if not keys:
        raise NoDiodeBoardError(f"{group.id} has shoes alone; a diode board has keys or listed contacts")
    tests = _standing(group.wiring.diode_readings)
    conducting = tuple(test for test in tests if test.volts.known)
    readings = tuple(DiodeReading(test.key, pin_words(test.from_pin), pin_words(test.to_pin)) for test in conducting)
    found = _recognised(keys, readings)
    board = replace(found, contradictions=(*found.contradictions, *_without_drop(conducting)))
    return DiodeBoard(
        group=group.id,
        names=_names(group),
        board=board,
        reuse=reuse(board),
        drive=_row_drive(board, group.wiring.commons),
        not_counted=tuple(t for t in tests if t.volts.state in (ReadingState.UNKNOWN, ReadingState.WANDERS)),
        unread=_unread(found, readings),
    )


@lru_cache(maxsize=64)
def _recognised(keys: tuple[int, ...], readings: tuple[DiodeReading, ...]) -> BoardFound:
    """Return what is recognised; kept, because every rule asks again and an irregular board takes long."""
    return recognise(keys, readings)


def _standing(tests: Iterable[DiodeTest]) -> tuple[DiodeTest, ...]:
    """Return the last reading of each key and pair of pins, by date and then as they stand in the file."""
    last = {
        (test.key, pin_words(test.from_pin), pin_words(test.to_pin)): test
        for test in sorted(tests, key=lambda test: test.date)
    }
    return tuple(sorted(last.values(), key=lambda test: (test.key, test.from_pin, test.to_pin)))


def _without_drop(conducting: Iterable[DiodeTest]) -> tuple[Contradiction, ...]:
    return tuple(
        Contradiction(
            ContradictionKind.NO_DROP,
            (test.key,),
            f"key {test.key} reads {test.volts} from {test.from_pin} to {test.to_pin}, less than any diode drops",
            "read it the other way too: a bridged diode, or none, conducts both ways",
        )
        for test in conducting
        if test.volts.value is not None and test.volts.value < LEAST_DROP_VOLTS
    )


def _row_drive(board: BoardFound, commons: Sequence[Common]) -> RowDrive:
    """Judge the commons that are named like pins: current must leave the board by every one of them."""
    meant = {pin_words(common.name) for common in commons} & {*board.rows, *board.columns}
    if not meant:
        return RowDrive.UNKNOWN
    return RowDrive.FITS if meant <= set(board.rows) else RowDrive.TURNED


def _unread(found: BoardFound, readings: Iterable[DiodeReading]) -> tuple[int, ...]:
    accused = {key for contradiction in found.contradictions for key in contradiction.keys}
    read = {reading.key for reading in readings} - accused
    return tuple(key for key in found.keys if key not in read)


def _names(group: Group) -> dict[int, str]:
    if isinstance(group, KeyGroup):
        return {}
    points = [point for point in group_points(group) if point.id != group.id]
    return {point.position + 1: f"{point.name} {point.footage}".rstrip() for point in points}
