"""The diagnosis of one or several groups: the causes, how much they explain, the runner-up, and what to press next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from retrofit.proving.diagnosis.causes import Cause
from retrofit.proving.diagnosis.correction import correction
from retrofit.proving.diagnosis.manners import manners, too_seldom
from retrofit.proving.diagnosis.next_presses import chords_again, differing, next_presses
from retrofit.proving.diagnosis.rig import Rig
from retrofit.proving.diagnosis.score import Material, material
from retrofit.proving.diagnosis.search import Supposition, search
from retrofit.proving.evidence import GroupEvidence

SETTLED = 40.0
"""Cost left unexplained beyond which nothing is settled: it is more than a clumsy person alone brings about.

Common practice, no source.
"""


@dataclass(frozen=True, slots=True)
class TellingPress:
    """The one press that would tell the best supposition from the runner-up, and what each would let hear."""

    point: str
    if_best: frozenset[str]
    if_runner_up: frozenset[str]


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What is supposed of a console.

    `causes` are empty while nothing is wrong for certain; `explained` of `observed` observations agree with them.
    `settled` is False while they leave too much unexplained to be relied upon.
    `runner_up` are the causes of the next best supposition, or None; where no single press tells the two apart
    `telling` is None.  `ask` are points to be pressed by name next, `hold` chords to be held once more; `unheard` were
    not heard yet, which accuses nobody.  `correct` leads from contacts to those whose addresses they should be given,
    or is None where a table cannot put things right.
    """

    causes: tuple[Cause, ...]
    explained: int
    observed: int
    runner_up: tuple[Cause, ...] | None
    telling: TellingPress | None
    ask: tuple[str, ...]
    hold: tuple[frozenset[str], ...]
    unheard: tuple[str, ...]
    correct: dict[str, str] | None
    settled: bool = True


def diagnose(rig: Rig, evidences: Sequence[GroupEvidence]) -> Diagnosis:
    """Return the diagnosis of the groups that were heard."""
    materials = [material(rig, evidence) for evidence in evidences]
    ranked = search(rig, materials)
    best, *others = ranked
    return Diagnosis(
        causes=(*best.causes, *(cause for evidence in evidences for cause in manners(evidence))),
        explained=sum(fit.agreeing for fit in best.fits),
        observed=sum(fit.compared for fit in best.fits),
        runner_up=others[0].causes if others else None,
        telling=_telling(best, others[0], materials) if others else None,
        ask=tuple(dict.fromkeys((*next_presses(rig, materials, ranked), *_again(evidences)))),
        hold=chords_again(materials, ranked),
        unheard=tuple(point for fit in best.fits for point in fit.missing),
        correct=correction(rig, best.causes, best.hearing),
        settled=best.left <= SETTLED,
    )


def _again(evidences: Sequence[GroupEvidence]) -> tuple[str, ...]:
    return tuple(point for evidence in evidences for point in too_seldom(evidence) if point not in evidence.excused)


def _telling(best: Supposition, other: Supposition, materials: Sequence[Material]) -> TellingPress | None:
    points = [point for found in materials for point in found.points]
    for point in differing(best, other, points):
        return TellingPress(point, best.hearing.press(point), other.hearing.press(point))
    return None
