"""The course of a run as text, so that a run which was interrupted is made again as it was."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass

from retrofit.proving.runs.conditions import Condition
from retrofit.proving.runs.entries import Entry, EntryKind
from retrofit.proving.runs.limits import Limits
from retrofit.proving.runs.run import ProvingRun
from retrofit.proving.runs.steps import Step
from retrofit.proving.runs.words import Word, understood


@dataclass(frozen=True, slots=True)
class Made:
    """What a course is made of; `follows` tells whether a diagnosis may ask for more when the steps are done."""

    steps: tuple[Step, ...]
    conditions: tuple[Condition, ...]
    limits: Limits
    follows: bool


def course_text(made: Made) -> str:
    """Return a course as JSON, its steps by their titles."""
    content = {
        "steps": [step.title for step in made.steps],
        "conditions": list(made.conditions),
        "limits": asdict(made.limits),
        "follows": made.follows,
    }
    return json.dumps(content, sort_keys=True)


def made_of(course: str, known: Iterable[Step]) -> Made:
    """Return a course again; `known` are all steps that the plan has, and one that it no longer has is passed over."""
    content = json.loads(course)
    by_title = {step.title: step for step in known}
    return Made(
        tuple(by_title[title] for title in content["steps"] if title in by_title),
        tuple(map(Condition, content["conditions"])),
        limits_of(course),
        content["follows"],
    )


def limits_of(course: str) -> Limits:
    """Return the limits of a course."""
    return Limits(**json.loads(course)["limits"])


def replayed(run: ProvingRun, entries: Sequence[Entry]) -> ProvingRun:
    """Bring a run to where its entries had brought it; a word that stopped it is passed over, so that it goes on."""
    for entry in entries:
        if not _stops(entry):
            run.take(entry)
    return run


def _stops(entry: Entry) -> bool:
    return entry.kind is EntryKind.WORDS and understood(entry.data.decode("utf-8", "replace")) is Word.QUIT
