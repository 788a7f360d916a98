"""What a proving run is made of: division, steps, conditions and limits, new or as an older run had them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from retrofit.cli.output import Exit, Stop
from retrofit.cli.prove_chords import chords_of
from retrofit.plan.model import ConversionPlan
from retrofit.proving.diagnosis.rig_of_plan import rig_of
from retrofit.proving.expected import expected_of
from retrofit.proving.following import following
from retrofit.proving.records.course import Made, course_text, made_of, replayed
from retrofit.proving.records.rows import RunRow, State
from retrofit.proving.records.store import RecordFile
from retrofit.proving.runs.conditions import conditions_of
from retrofit.proving.runs.limits import SECOND_US, Limits
from retrofit.proving.runs.run import ProvingRun
from retrofit.proving.runs.steps import Step, StepKind, steps_of

STEP_WORDS = {str(kind).replace(" ", "-"): kind for kind in StepKind}
"""The kinds of steps as the command line calls them."""


@dataclass(frozen=True, slots=True)
class Course:
    """A run that has not begun, or not ended, and the text from which it is made again."""

    run: ProvingRun
    text: str


def new_course(plan: ConversionPlan, division: str, kinds: Sequence[str], soak_minutes: float, ask: bool) -> Course:
    """Return a new run; `kinds` names the kinds of steps wanted, all when empty."""
    limits = Limits(soak_us=round(soak_minutes * 60 * SECOND_US))
    wanted = {STEP_WORDS[kind] for kind in kinds} or set(StepKind)
    if not limits.soak_us:
        wanted.discard(StepKind.SOAK)
    steps = tuple(step for step in _all_steps(plan, division, StepKind.CHORDS in wanted) if step.kind in wanted)
    if not steps:
        raise Stop(Exit.USAGE, f"{division} has no step of that kind; leave --only out to see all of them")
    conditions = conditions_of(not plan.withholding) if ask else ()
    return _course(plan, division, Made(steps, conditions, limits, StepKind.CAUSE in wanted))


def _all_steps(plan: ConversionPlan, division: str, with_chords: bool) -> tuple[Step, ...]:
    return steps_of(expected_of(plan), division, chords_of(plan, division) if with_chords else None)


def _course(plan: ConversionPlan, division: str, made: Made) -> Course:
    expected = expected_of(plan)
    further = following(rig_of(plan), expected, division) if made.follows else None
    run = ProvingRun(expected, made.steps, made.conditions, made.limits, further)
    return Course(run, course_text(made))


def unfinished(file: RecordFile, division: str) -> RunRow | None:
    """Return the newest run over a division if it was stopped or interrupted."""
    runs = [run for run in file.runs() if run.head.division == division]
    return runs[-1] if runs and runs[-1].state is not State.FINISHED else None


def resumed_course(plan: ConversionPlan, file: RecordFile, row: RunRow) -> Course:
    """Return a run as far as it had come.  Ends the command when the plan is another one by now."""
    if row.head.digest != plan.digest:
        raise Stop(
            Exit.PROBLEMS,
            f"run {row.number} was of plan {row.head.digest}, and the plan is {plan.digest} now; begin a new run",
        )
    text = row.head.course
    made = made_of(text, _all_steps(plan, row.head.division, with_chords=True))
    course = _course(plan, row.head.division, made)
    return Course(replayed(course.run, file.entries(row.number)), text)
