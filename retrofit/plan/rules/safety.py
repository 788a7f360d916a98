"""Rules that protect whoever reaches into a powered instrument; none of them can be waived."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.bench import ReadingState
from retrofit.survey.job import Job
from retrofit.survey.make_safe import EarthRelation, MakeSafe, SupplyKind
from retrofit.survey.problems import shown
from retrofit.survey.wiring import Owner

JOINED_OHMS = 1.0
APART_OHMS = 1000.0
"""Chassis to earth: joined up to the first, apart from the second; common practice, no source."""

_LICENSED = "where the law wants it, a licensed person does this; local codes come before this paper"


def touches_powered_instrument(job: Job) -> bool:
    """Return whether a line is still fed by the organ, so that the work reaches into a powered instrument."""
    return any(group.wiring.owner is Owner.ORGAN for group in job.groups)


def _not_made_safe(facts: Facts) -> Iterator[Said]:
    if touches_powered_instrument(facts.job):
        yield from _earth(facts.job.make_safe)
        yield from _supply(facts.job.make_safe)
        yield from _steps(facts.job.make_safe)


def _earth(record: MakeSafe) -> Iterator[Said]:
    if _earth_settled(record):
        return
    yield Said(
        "make_safe.chassis_to_earth",
        f"chassis to earth is {record.chassis_to_earth.value!r} with {_reading_words(record)}",
        f"joined with a reading up to {JOINED_OHMS:g} Ω, or apart with OL or at least {APART_OHMS:g} Ω",
        f"unplug the mains, read from the chassis to the earth pin of the plug, and write both down; {_LICENSED}",
    )


def _earth_settled(record: MakeSafe) -> bool:
    reading = record.earth_reading
    match record.chassis_to_earth:
        case EarthRelation.JOINED:
            return reading.value is not None and reading.value <= JOINED_OHMS
        case EarthRelation.APART:
            return reading.state is ReadingState.OPEN or (reading.value is not None and reading.value >= APART_OHMS)
        case EarthRelation.UNKNOWN:
            return False


def _reading_words(record: MakeSafe) -> str:
    reading = record.earth_reading
    return "no reading" if reading.state is ReadingState.UNKNOWN else f"the reading {shown(reading.raw)} (Ω)"


def _supply(record: MakeSafe) -> Iterator[Said]:
    if record.supply_kind is SupplyKind.UNKNOWN:
        yield Said(
            "make_safe.supply_kind",
            "nobody has said whether the supplies are isolated from the mains",
            "isolated",
            f"trace the transformer; a supply of a very old set may be joined to the mains; {_LICENSED}",
        )
    elif record.supply_kind is SupplyKind.NOT_ISOLATED:
        yield Said(
            "make_safe.supply_kind",
            "a supply is joined to the mains, so every line may be live to earth",
            "isolated",
            f"connect nothing; have an isolated supply fitted first, then read everything again; {_LICENSED}",
        )


def _steps(record: MakeSafe) -> Iterator[Said]:
    if record.missing_steps:
        yield Said(
            "make_safe.ticks",
            f"nobody has signed {', '.join(step.value for step in record.missing_steps)}",
            "every step with date and initials",
            f"take the steps in this order and sign each one; {_LICENSED}",
        )


RULES = (
    Rule(
        "make-safe-not-done",
        "The instrument is powered and its make-safe record is not complete",
        Severity.ERROR,
        "chassis to earth, kind of supply and signed steps of a job with lines that the organ owns; while it speaks "
        "no paper that leads hands into the instrument is written",
        _not_made_safe,
        locked=True,
        papers_only=True,
        why=(
            "Hands follow these papers into a console that is still fed; a chassis or a supply joined to the "
            "mains can kill, and a charged capacitor burns."
        ),
        remedy=(
            "complete the make-safe record step by step, with readings, dates and initials; leave mains work to "
            "licensed people"
        ),
    ),
)
