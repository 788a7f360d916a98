"""Whether the raw readings of a job are still those that its as-found record was locked with."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import date
from typing import Any

from retrofit.survey.contacts import Group
from retrofit.survey.faults import Fault
from retrofit.survey.job import Job
from retrofit.survey.problems import ProblemKind, shown

_OF_WIRING = {"dead", "contact_resistance", "bounce", "bounce_strokes", "meter_input"}
_OF_SUPPLY = {"volts_rest", "volts_typical", "volts_full"}


def as_found_digest(job: Job, until: date) -> str:
    """Return the digest of every raw reading of the job; dated ones take part up to the day `until`."""
    record = {
        "supplies": {supply.id: supply.model_dump(mode="json", include=_OF_SUPPLY) for supply in job.supplies},
        "groups": {group.id: _raw(group, until) for group in job.groups},
    }
    text = json.dumps(record, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:16]


def _raw(group: Group, until: date) -> dict[str, Any]:
    taken = [reading.model_dump(mode="json") for reading in group.wiring.readings if reading.date <= until]
    raw = group.wiring.model_dump(mode="json", include=_OF_WIRING) | {"readings": taken}
    tested = [test.model_dump(mode="json") for test in group.wiring.diode_readings if test.date <= until]
    return raw | {"diode_readings": tested} if tested else raw


def as_found_faults(job: Job) -> Iterator[Fault]:
    """Yield the fault of a record whose readings were changed, added or taken out after it was locked."""
    lock = job.as_found.locked
    if lock is None:
        return
    found = as_found_digest(job, lock.date)
    if found != lock.digest:
        yield Fault(
            ProblemKind.AS_FOUND_CHANGED,
            ("as_found", "locked"),
            f"readings with the digest {found}, locked by {shown(lock.initials)} on {lock.date} with {lock.digest}",
            "readings as they were locked; later ones carry a later date",
            "put the old readings back (a numbered backup may hold them), or take the lock out and lock anew",
        )
