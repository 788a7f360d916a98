"""Words that the putback sheet and the change notes share."""

from __future__ import annotations

from retrofit.plan.operations import Operation, Proof
from retrofit.plan.putback import Putback
from retrofit.survey.operations import Rehearsal

BLANK_DATE = "__________"
BLANK_INITIALS = "___"


def minutes_text(minutes: float | None) -> str:
    """Return a time in minutes, `unknown` where nobody has said."""
    return "unknown" if minutes is None else f"{minutes:g}"


def rehearsed_text(rehearsal: Rehearsal | None) -> str:
    """Return date and initials of a rehearsal, or nothing."""
    return "" if rehearsal is None else f"{rehearsal.date.isoformat()} {rehearsal.initials}"


def written_text(step: Operation) -> str:
    """Return date and initials of a step that was written down by hand, or nothing."""
    return "" if step.written is None else f"{step.written[0].isoformat()} {step.written[1]}"


def unproved(putback: Putback) -> int:
    """Return how many steps have no reading, or only half of one, to be compared with."""
    return sum(not step.operation.proof.known for step in putback.steps)


def blanks(proof: Proof) -> tuple[str, str]:
    """Return the places to write the readings that are taken after a step: two, one or none."""
    line = "_" * 8
    return line if proof.states else "", line if proof.states == 2 else ""
