"""Steps written down by hand, held against the rest of the job: what they are about, and names that are taken."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.survey.faults import Fault
from retrofit.survey.members import Members
from retrofit.survey.operations import CONSOLE
from retrofit.survey.problems import ProblemKind, did_you_mean, shown


def operation_faults(members: Members) -> Iterator[Fault]:
    """Yield every step whose subject is not in the job, or whose id is that of a division."""
    divisions = members.known_ids("divisions")
    for position, step in members.operations:
        if step.id in divisions:
            found = f"the id {shown(step.id)}, which is a division's"
            allowed = "an id that no division has, so that a rehearsal names one thing"
            yield Fault(ProblemKind.NAME_TAKEN, ("operations", position, "id"), found, allowed, "choose another id")
        if _is_stray_subject(members, step.subject):
            known = members.known_ids("groups") | divisions | members.point_ids | {CONSOLE}
            allowed = f"a group, a division, a point, or {CONSOLE!r}"
            place = ("operations", position, "subject")
            remedy = did_you_mean(step.subject, known) or "name points as group.point"
            yield Fault(ProblemKind.UNKNOWN_SUBJECT, place, shown(step.subject), allowed, remedy)


def _is_stray_subject(members: Members, subject: str) -> bool:
    """Return whether `subject` is certainly nothing that the job holds."""
    named = subject == CONSOLE or not all(members.is_stray(kind, subject) for kind in ("groups", "divisions"))
    return not named and members.is_stray_point(subject)
