"""Initials and a day: what a hand signs with, and the edits that are signed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from pydantic import ValidationError

from retrofit.survey.as_found_check import as_found_digest
from retrofit.survey.job import Job
from retrofit.survey.make_safe import SafeStep
from retrofit.survey.operations import Rehearsal
from retrofit.survey.save import Edit, add_row, set_value, with_rehearsals

HOW = "one to eight letters, then the day as 2026-03-07; without a day it is today"


@dataclass(frozen=True, slots=True)
class Signature:
    """Who, and on which day."""

    initials: str
    day: date

    @property
    def words(self) -> str:
        """The signature as it is typed."""
        return f"{self.initials} {self.day.isoformat()}"


def signature(words: str, today: date) -> Signature:
    """Read a signature as it is typed.  Raises `ValueError` with what is allowed."""
    initials, _, day = words.strip().partition(" ")
    try:
        found = Rehearsal(initials=initials, date=date.fromisoformat(day.strip()) if day.strip() else today)
    except ValidationError as error:
        raise ValueError(f"initials {initials!r}; allowed: {HOW}") from error
    except ValueError as error:
        raise ValueError(f"{day.strip()!r} is no day; allowed: {HOW}") from error
    return Signature(found.initials, found.date)


def rehearsed(names: Iterable[str], by: Signature) -> Edit:
    """Return the edit that signs a rehearsal of steps or divisions."""
    return with_rehearsals(names, by.day, by.initials)


def made_safe(step: SafeStep, by: Signature) -> Edit:
    """Return the edit that signs a step of the make-safe record."""

    def edit(document: Any) -> None:
        ticks = document.setdefault("make_safe", {}).setdefault("ticks", [])
        add_row(ticks, {"step": step.value, "date": by.day, "initials": by.initials})

    return edit


def not_made_safe(step: SafeStep) -> Edit:
    """Return the edit that takes every signature of a step of the make-safe record away."""

    def edit(document: Any) -> None:
        ticks = document.get("make_safe", {}).get("ticks", [])
        for place in reversed([place for place, tick in enumerate(ticks) if tick.get("step") == step.value]):
            del ticks[place]

    return edit


def locked(job: Job, by: Signature) -> Edit:
    """Return the edit that locks the readings up to the day of the signature as the as-found record."""
    lock = {"date": by.day, "initials": by.initials, "digest": as_found_digest(job, by.day)}
    return lambda document: set_value(document, ("as_found", "locked"), lock)
