"""The job as a board keeps it: with the addresses and messages of the plan that it was built from."""

from __future__ import annotations

from collections.abc import Collection

from retrofit.midi.recorded import message_text, sent_by_point
from retrofit.plan.model import PointPlan
from retrofit.survey.instrument import StoredDescription
from retrofit.survey.job import Job
from retrofit.survey.job_text import job_text, without_remarks


def addresses_to_record(points: Collection[PointPlan]) -> dict[str, str]:
    """Return the address of every point that is wired by itself; a point on another's line has none of its own."""
    return {p.point.id: str(p.address) for p in points if p.address is not None and p.point.same_line_as is None}


def messages_to_record(points: Collection[PointPlan]) -> dict[str, str]:
    """Return what every point sends that sends anything of its own."""
    sent = sent_by_point(
        {p.point.id: p.message for p in points if p.message}, {p.point.id: p.shoe for p in points if p.shoe}
    )
    return {point: message_text(use) for point, use in sent.items()}


def job_as_built(job: Job, points: Collection[PointPlan]) -> Job:
    """Return the job with the addresses and messages of its planned points recorded, in place of all earlier ones."""
    recorded = {"addresses": addresses_to_record(points), "messages": messages_to_record(points)}
    return job.model_copy(update=recorded)


def stored_text(job: Job, points: Collection[PointPlan]) -> str:
    """Return the text that the board is to keep, as much of it as the job wants kept; empty for nothing."""
    wanted = job.wanted.stored_description
    if wanted is StoredDescription.NONE:
        return ""
    built = job_as_built(job, points)
    return job_text(built if wanted is StoredDescription.WHOLE else without_remarks(built))
