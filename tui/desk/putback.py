"""What the room Putback shows of a job: the steps in the order of taking out, and what is to be known of each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from retrofit.papers.putback_rows import minutes_text, rehearsed_text
from retrofit.papers.putback_sheet import putback_sheet_text
from retrofit.plan.gate import papers_allowed
from retrofit.plan.model import ConversionPlan
from retrofit.plan.operations import Operation
from retrofit.plan.putback import Putback, PutbackStep, calls_for_putback, put_back
from retrofit.survey.job import Job

TAKEN, OPEN, NEVER, STAYS = "[x]", "[ ]", "never", "stays"
NO_STEPS = "No step is planned and none is written down, so nothing has to come out again."
NO_SHEET = "Nothing of an original is kept or tapped in this job, so no putback sheet is written for it."

Row = tuple[str, tuple[str, ...]]
"""Key and words of a row."""
Paragraph = tuple[str, str]
"""What stands before, and the words."""


@dataclass(frozen=True, slots=True)
class Shown:
    """The putback of a plan, for one division or, where `division` is empty, for all.

    `rows` are the steps as they are taken out, then those that cannot be undone, then those that stay.  `standing`
    says how many were rehearsed.  `sheet` is the sheet as it prints, or why there is none.
    """

    plan: ConversionPlan
    division: str
    rows: tuple[Row, ...]
    standing: str
    sheet: tuple[str, ...]
    steps: Mapping[str, Operation]


def shown(plan: ConversionPlan, division: str) -> Shown:
    """Return the putback of a division, or of everything where that is empty or no longer in the job."""
    chosen = tuple(one.id for one in plan.job.divisions if one.id == division)
    putback = put_back(plan.job, chosen)
    undone = [step.operation for step in putback.steps]
    return Shown(
        plan,
        "".join(chosen),
        (
            *(_step_row(step) for step in putback.steps),
            *(_other_row(step, NEVER) for step in putback.for_good),
            *(_other_row(step, STAYS) for step in putback.staying),
        ),
        _standing(putback),
        _sheet(plan, chosen),
        {step.id: step for step in (*undone, *putback.for_good, *putback.staying)},
    )


def _standing(putback: Putback) -> str:
    done = sum(step.rehearsed is not None for step in putback.steps)
    whose = ", ".join(putback.divisions) or "every division"
    return f"Steps out, {whose}: {done} of {len(putback.steps)} rehearsed, about {putback.minutes / 60:.1f} h"


def _sheet(plan: ConversionPlan, chosen: tuple[str, ...]) -> tuple[str, ...]:
    if not calls_for_putback(plan.job):
        return (NO_SHEET,)
    allowed, reasons = papers_allowed(plan)
    if not allowed:
        return ("The sheet leads hands into a powered instrument and is withheld:", "", *reasons)
    return tuple(putback_sheet_text(plan, chosen).splitlines())


def _step_row(step: PutbackStep) -> Row:
    operation = step.operation
    state = OPEN if step.rehearsed is None else f"{TAKEN} {rehearsed_text(step.rehearsed)}"
    where = f"{operation.strip} {operation.tag}".strip()
    return operation.id, (str(step.number), state, where, operation.what, minutes_text(operation.minutes))


def _other_row(operation: Operation, word: str) -> Row:
    return operation.id, ("–", word, "", operation.what, "")


def about(job: Job, operation: Operation) -> tuple[Paragraph, ...]:
    """Return everything that is to be known of a step."""
    undo = operation.undo
    out: tuple[Paragraph, ...] = (("out: ", "cannot be undone; say so to the owner"),)
    if undo is not None:
        tool, minutes = undo.tool, minutes_text(operation.minutes)
        out = (("out: ", f"{undo.words}; tool: {tool}; minutes {minutes}"), ("see: ", undo.seen))
    lines = (
        *out,
        ("read: ", operation.proof.words),
        ("in: ", f"{operation.done}, {operation.why}"),
        ("touches: ", "; ".join(operation.originals) or "nothing of the organ"),
        ("for: ", ", ".join(operation.divisions)),
        ("remark: ", operation.remark),
        ("written: ", "" if operation.written is None else f"{operation.written[0]} {operation.written[1]}"),
        ("rehearsed: ", "; ".join(_rehearsals(job, operation))),
    )
    return tuple((head, words) for head, words in lines if words)


def _rehearsals(job: Job, operation: Operation) -> Iterator[str]:
    """Yield when a step was rehearsed by itself, and when with the whole of its only division."""
    if operation.id in job.rehearsals:
        yield rehearsed_text(job.rehearsals[operation.id])
    whole = whole_division(operation)
    if whole in job.rehearsals:
        yield f"{rehearsed_text(job.rehearsals[whole])} with the whole of {whole}"


def whole_division(operation: Operation) -> str:
    """Return the only division that needs a step, empty where several do."""
    return operation.divisions[0] if len(operation.divisions) == 1 else ""


def next_division(job: Job, division: str) -> str:
    """Return the division after this one; after the last comes every division together, which is empty."""
    names = ["", *(one.id for one in job.divisions)]
    return names[(names.index(division) + 1) % len(names)] if division in names else ""
