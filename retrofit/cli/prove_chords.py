"""The chord tests of a division's groups as a proving run wants them: by point ids."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.matrix_chords import GroupChords, NoChordsError, group_chords
from retrofit.plan.matrix_pairs import group_pairs, rows_are_driven
from retrofit.plan.model import ConversionPlan
from retrofit.proving.runs.steps import ChordTest
from retrofit.scan.matrix_faults.ghosts import suspects
from retrofit.survey.contacts import Condition, KeyGroup


def chords_of(plan: ConversionPlan, division: str) -> dict[str, tuple[ChordTest, ...]]:
    """Return the chord tests of each key group of a division that has some: chords, or pairs where rows are driven."""
    tests = {group.id: _of_group(plan, group) for group in plan.job.groups if group.division == division}
    return {group: chords for group, chords in tests.items() if chords}


def _of_group(plan: ConversionPlan, group: object) -> tuple[ChordTest, ...]:
    if not isinstance(group, KeyGroup):
        return ()
    try:
        if rows_are_driven(plan, group.id):
            return tuple(_pairs(plan, group.id))
        return tuple(_chords(plan, group_chords(plan, load_catalogue(), group.id, muted=_muted(plan))))
    except NoChordsError:
        return ()


def _muted(plan: ConversionPlan) -> frozenset[str]:
    """Return the points that are known to stay closed: the board mutes them, so that no chord can be held with them."""
    return frozenset(p.point.id for p in plan.points if p.point.found.condition is Condition.CIPHERING)


def _ids(plan: ConversionPlan, group: str) -> dict[int, str]:
    """Return the points of a group by note, as chord tests number keys."""
    points = [point.point for point in plan.points if point.point.group == group]
    return {point.note: point.id for point in points if point.note is not None}


def _pairs(plan: ConversionPlan, group: str) -> Iterator[ChordTest]:
    ids = _ids(plan, group)
    for pair in group_pairs(plan, group, muted=_muted(plan)).tests.pairs:
        yield ChordTest(tuple(ids[key] for key in pair.keys))


def _chords(plan: ConversionPlan, found: GroupChords) -> Iterator[ChordTest]:
    ids, tests = _ids(plan, found.group), found.tests
    for chord in (*tests.chords, *(test.chord for test in tests.by_three_keys)):
        ghosts = {
            frozenset(ids[found.key_at[crossing]] for crossing in pattern): tuple(ids[key] for key in keys)
            for pattern, keys in suspects(tests.matrix, chord.keys).items()
        }
        yield ChordTest(tuple(ids[key] for key in chord.keys), ghosts)
