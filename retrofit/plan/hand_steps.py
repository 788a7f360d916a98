"""Steps that somebody wrote down, as steps of the ledger."""

from __future__ import annotations

from retrofit.plan.ledger_scope import Scope
from retrofit.plan.operations import NOT_TAKEN, Operation, Proof, Undo
from retrofit.survey.operations import NEVER_UNDONE, HandOperation

_UNKNOWN = ("", "unknown")


def hand_step(written: HandOperation, scope: Scope) -> Operation:
    """Return the step; it has no inverse when none was written, or when its kind leaves nothing to go back to."""
    divisions, preserved = scope.about(written.subject)
    undo = Undo(written.inverse, written.tool, written.seen)
    return Operation(
        id=written.id,
        kind=written.kind,
        subject=written.subject,
        what=written.text,
        done=written.text,
        why=written.reason,
        tool=written.tool,
        undo=None if written.kind in NEVER_UNDONE or not written.inverse.strip() else undo,
        proof=_proof(written.reading),
        divisions=divisions,
        preserved=preserved,
        minutes=written.minutes,
        originals=(written.subject,),
        written=(written.date, written.initials),
    )


def _proof(reading: str) -> Proof:
    known = reading.strip().casefold() not in _UNKNOWN
    return Proof(reading if known else NOT_TAKEN, known=known, states=1)
