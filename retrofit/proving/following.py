"""What a diagnosis wants to hear next, as steps of a run: the presses and chords that tell causes apart."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from retrofit.proving.diagnosis.diagnose import diagnose
from retrofit.proving.diagnosis.rig import Rig
from retrofit.proving.evidence import GroupEvidence
from retrofit.proving.expected import Expected, ExpectedPoint
from retrofit.proving.runs.notebook import Notebook
from retrofit.proving.runs.run import Further
from retrofit.proving.runs.steps import ChordTest, Step, StepKind
from retrofit.survey.points import PointKind


def evidence_of(expected: Expected, notebook: Notebook, division: str) -> tuple[GroupEvidence, ...]:
    """Return what was heard of the key groups of a division, those left out of which nothing was."""
    groups = dict.fromkeys(p.group for p in expected.contacts if p.division == division and p.kind is PointKind.KEY)
    evidences = (notebook.evidence(group) for group in groups)
    return tuple(evidence for evidence in evidences if evidence.run or evidence.asked)


def following(rig: Rig, expected: Expected, division: str) -> Further:
    """Return what gives a run over a division the steps that its diagnosis asks for."""

    def further(notebook: Notebook) -> list[Step]:
        heard = evidence_of(expected, notebook, division)
        if not heard:
            return []
        found = diagnose(rig, heard)
        return [*_presses(expected, found.ask), *_chords(expected, found.hold)]

    return further


def _presses(expected: Expected, asked: Iterable[str]) -> Iterator[Step]:
    """Yield a step for each group of which points are asked for."""
    points = _by_id(expected)
    groups: dict[str, list[ExpectedPoint]] = {}
    for name in asked:
        groups.setdefault(points[name].group, []).append(points[name])
    yield from (Step(StepKind.CAUSE, group, tuple(found)) for group, found in groups.items())


def _chords(expected: Expected, held: Iterable[frozenset[str]]) -> Iterator[Step]:
    points = _by_id(expected)
    for chord in held:
        found = tuple(sorted((points[name] for name in chord), key=lambda point: point.position))
        yield Step(StepKind.CHORDS, found[0].group, found, (ChordTest(tuple(point.id for point in found)),))


def _by_id(expected: Expected) -> dict[str, ExpectedPoint]:
    return {point.id: point for point in expected.contacts}
