"""What a diagnosis makes of a run, in words."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.model import ConversionPlan
from retrofit.proving.diagnosis.diagnose import Diagnosis, diagnose
from retrofit.proving.diagnosis.rig import Rig
from retrofit.proving.diagnosis.rig_of_plan import rig_of
from retrofit.proving.diagnosis.words import cause_words, first_look, part_words
from retrofit.proving.following import evidence_of
from retrofit.proving.runs.run import ProvingRun


def causes_of(plan: ConversionPlan, run: ProvingRun, division: str) -> tuple[str, ...]:
    """Return, in sentences, the causes that explain what the run heard; none when nothing is wrong for certain."""
    heard = evidence_of(run.expected, run.notebook, division)
    if not heard:
        return ()
    rig = rig_of(plan)
    return tuple(_told(rig, diagnose(rig, heard)))


def _told(rig: Rig, found: Diagnosis) -> Iterator[str]:
    """Yield each cause with where to look, then how much they explain, what else it could be, and what would tell."""
    for cause in found.causes:
        yield f"{cause_words(rig, cause)}; look first: {first_look(rig, cause)}"
    if not found.causes:
        return
    yield f"this explains {found.explained} of {found.observed} observations"
    if found.runner_up:
        yield f"if not, then {' and '.join(cause_words(rig, cause) for cause in found.runner_up)}"
    if found.ask:
        yield f"to be sure, press {', '.join(part_words(rig, point) for point in found.ask)}"
