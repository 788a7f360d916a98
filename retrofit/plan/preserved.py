"""Which groups must stay as they were."""

from __future__ import annotations

from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job


def is_preserved(job: Job, group: GroupBase) -> bool:
    """Return whether the originals of a group stay as they were: as it says itself, else as the job says."""
    stated = group.originals_preserved
    return job.originals.preserved if stated is None else stated
