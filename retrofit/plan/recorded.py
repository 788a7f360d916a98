"""Addresses that the job has recorded, and those among them that are wired and therefore stay."""

from __future__ import annotations

from collections.abc import Sequence

from retrofit.scan.addresses import Address, parse_address
from retrofit.survey.instrument import Progress
from retrofit.survey.job import Job
from retrofit.survey.points import Point


def recorded_addresses(job: Job) -> dict[str, Address]:
    """Return every recorded address that can be read; the others are a finding of `unreadable_addresses`."""
    return {point: address for point, text in job.addresses.items() if (address := _read(text)) is not None}


def unreadable_addresses(job: Job) -> dict[str, str]:
    """Return recorded addresses that name no place."""
    return {point: text for point, text in job.addresses.items() if _read(text) is None}


def fixed_addresses(job: Job, points: Sequence[Point]) -> dict[str, Address]:
    """Return the recorded addresses of points whose division is wired or proven."""
    wired = {division.id for division in job.divisions if division.progress is not Progress.PLANNED}
    recorded = recorded_addresses(job)
    return {point.id: recorded[point.id] for point in points if point.division in wired and point.id in recorded}


def _read(text: str) -> Address | None:
    try:
        return parse_address(text)
    except ValueError:
        return None
