"""What a plan would have points send that were recorded to send something else."""

from __future__ import annotations

from collections.abc import Sequence

from retrofit.midi.assignment import Assignment
from retrofit.midi.kept import wired_divisions
from retrofit.midi.recorded import message_text, recorded_messages, sent_by_point
from retrofit.plan.model import MessageChange
from retrofit.survey.job import Job
from retrofit.survey.points import Point


def message_changes(job: Job, points: Sequence[Point], assignment: Assignment) -> tuple[MessageChange, ...]:
    """Return the points that send something, and not what is recorded of them, in the order of the points.

    A point that is new, or sends nothing any more, is no change.
    """
    recorded, wired = recorded_messages(job), wired_divisions(job)
    sent = sent_by_point(assignment.messages, assignment.shoes)
    return tuple(
        MessageChange(point.id, message_text(recorded[point.id]), message_text(sent[point.id]), point.division in wired)
        for point in points
        if point.id in recorded and point.id in sent and recorded[point.id] != sent[point.id]
    )
