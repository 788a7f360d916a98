"""What the room Putback shows of the as-found record."""

from __future__ import annotations

from datetime import date

from retrofit.cli.output import counted
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job

UNLOCKED = (
    "The record is still open: readings can be added and changed.",
    "l locks it with initials and a day. From then on no reading of that day or before can change; "
    "later ones are added with a later date. The instrument is put back to what is locked.",
)


def as_found_text(job: Job) -> tuple[str, ...]:
    """Return whether the record is locked, what it holds, and what came later."""
    lock = job.as_found.locked
    if lock is None:
        return (*UNLOCKED, "", *_held(job, None))
    return (
        f"Locked on {lock.date.isoformat()} by {lock.initials}, digest {lock.digest}.",
        "Nothing of it has changed since: the readings still give this digest.",
        "",
        *_held(job, lock.date),
    )


def _held(job: Job, until: date | None) -> tuple[str, ...]:
    """Return what is in the record, group by group, and how many readings are later than its day."""
    supplies = (
        f"- supply {supply.name or supply.id}: {supply.volts_rest} at rest, {supply.volts_full} with everything on"
        for supply in job.supplies
    )
    groups = (f"- {group.id}: {_taken(_days(group), until)}" for group in job.groups)
    return ("What it holds:", *supplies, *groups)


def _days(group: GroupBase) -> list[date]:
    """Return the day of every dated reading of a group."""
    of_lines = [reading.date for reading in group.wiring.readings]
    return of_lines + [reading.date for reading in group.wiring.diode_readings]


def _taken(days: list[date], until: date | None) -> str:
    later = sum(until is not None and day > until for day in days)
    words = counted(len(days) - later, "reading")
    return f"{words}; {later} later, not part of it" if later else words
