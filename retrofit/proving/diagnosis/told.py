"""A diagnosis in sentences: what is wrong, where to look, how sure that is, and what would tell."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.proving.diagnosis.diagnose import Diagnosis, TellingPress
from retrofit.proving.diagnosis.rig import Rig
from retrofit.proving.diagnosis.words import cause_words, first_look, part_words


def told(rig: Rig, found: Diagnosis) -> tuple[str, ...]:
    """Return a diagnosis as lines for the user, in his own names; none where what was heard is as it should be."""
    if not found.causes and found.settled:
        return ()
    return (*_causes(rig, found), *_doubts(rig, found), *_remedies(rig, found))


def _causes(rig: Rig, found: Diagnosis) -> Iterator[str]:
    for cause in found.causes:
        yield f"{cause_words(rig, cause)}; look first: {first_look(rig, cause)}"
    supposed = "this" if found.causes else "a sound console"
    yield f"{supposed} explains {found.explained} of {found.observed} observations"
    if not found.settled:
        yield "this is not settled: too much is left unexplained; look closer, or ask for help"


def _doubts(rig: Rig, found: Diagnosis) -> Iterator[str]:
    if found.runner_up:
        yield f"if not, then {' and '.join(cause_words(rig, cause) for cause in found.runner_up)}"
    if found.telling is not None:
        yield _telling_words(rig, found.telling)
    if found.ask:
        yield f"to be sure, press {', '.join(part_words(rig, point) for point in found.ask)}"


def _remedies(rig: Rig, found: Diagnosis) -> Iterator[str]:
    """Yield how the table can be put right instead of the wiring, group by group."""
    moved = [rig.contacts[point].group for point in found.correct or ()]
    for group in dict.fromkeys(moved):
        yield (
            f"instead of the wiring the table can be corrected, where {moved.count(group)} addresses change places: "
            f"retrofit learn FILE {group}"
        )


def _telling_words(rig: Rig, press: TellingPress) -> str:
    best, other = (
        ", ".join(part_words(rig, name) for name in sorted(heard)) or "nothing"
        for heard in (press.if_best, press.if_runner_up)
    )
    return (
        f"to tell them apart press {part_words(rig, press.point)}: {best} speaks for the first, {other} for the other"
    )
