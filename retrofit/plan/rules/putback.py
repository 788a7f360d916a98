"""Rules about taking everything out again."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.facts import Facts
from retrofit.plan.ledger import ledger
from retrofit.plan.model import Severity
from retrofit.plan.operations import Operation
from retrofit.plan.putback import rehearsal_names
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.operations import NEVER_UNDONE
from retrofit.survey.problems import did_you_mean


def _cannot_be_undone(facts: Facts) -> Iterator[Said]:
    for step in ledger(facts.job):
        if step.preserved and step.undo is None:
            by_hand = step.written is not None
            yield Said(
                f"operations.{step.id}" if by_hand else f"groups.{step.subject}.wiring.commons",
                f"{step.kind.value} of {step.what!r} has no inverse{_why(step)}",
                "with originals preserved every step can be undone",
                _remedy(step) if by_hand else "read this group by the chain, one line per contact",
            )


def _why(step: Operation) -> str:
    return ": what was there before does not come back" if step.kind in NEVER_UNDONE else ""


def _remedy(step: Operation) -> str:
    if step.kind in NEVER_UNDONE:
        return "leave the original as it is; if it is done already, say so to the owner and show this list"
    return "write down how it is undone (inverse), and keep what was taken off in a labelled bag"


def _rehearsal_of_nothing(facts: Facts) -> Iterator[Said]:
    known = rehearsal_names(facts.job) if facts.job.rehearsals else ()
    for name in facts.job.rehearsals:
        if name not in known:
            yield Said(
                f"rehearsals.{name}",
                f"a rehearsal of {name!r}, which is no step of the putback and no division",
                "rehearsals of steps that are there",
                did_you_mean(name, known) or "rehearse what took its place, and delete this entry",
            )


RULES = (
    Rule(
        "step-cannot-be-undone",
        "A step cannot be undone while originals are preserved",
        Severity.ERROR,
        "every step of the conversion with its inverse",
        _cannot_be_undone,
        locked=True,
        why=(
            "The owner was promised the organ back as it was; after a cut, a hole, a part that is gone or a "
            "changed value nobody can keep that promise."
        ),
        remedy=(
            "find a way that comes off again: a hook, a ring, an adaptor, a clamp, an existing hole; write down "
            "the inverse of every step"
        ),
    ),
    Rule(
        "rehearsal-of-nothing",
        "A rehearsal is recorded of a step that there is not",
        Severity.WARNING,
        "recorded rehearsals with the steps of the putback and the divisions",
        _rehearsal_of_nothing,
        why=(
            "A rehearsal is worth something only for the step as it stands now; a step that was renamed or "
            "replaced has not been rehearsed."
        ),
        remedy="rehearse what took its place, and delete the old entry",
    ),
)
