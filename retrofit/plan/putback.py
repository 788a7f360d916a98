"""Putting the organ back: the ledger backward, whole or for some divisions."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from retrofit.plan.ledger import ledger
from retrofit.plan.operations import Operation
from retrofit.survey.job import Job
from retrofit.survey.operations import OperationKind, Rehearsal


@dataclass(frozen=True, slots=True)
class PutbackStep:
    """One step of the putback, numbered from 1, with the last time it was rehearsed."""

    number: int
    operation: Operation
    rehearsed: Rehearsal | None


@dataclass(frozen=True, slots=True)
class Putback:
    """What is taken out, in order; what cannot be undone; and what stays because other divisions need it.

    `divisions` are those asked for, empty for everything.
    """

    divisions: tuple[str, ...]
    steps: tuple[PutbackStep, ...]
    for_good: tuple[Operation, ...]
    staying: tuple[Operation, ...]

    @property
    def minutes(self) -> float:
        """The time that is known, of all steps together."""
        return sum(step.operation.minutes or 0.0 for step in self.steps)


def put_back(job: Job, divisions: Collection[str] = ()) -> Putback:
    """Return the putback of a job, or of some of its divisions.

    A step is taken out when no division needs it any more; what serves another division too stays.
    """
    every = ledger(job)
    wanted = set(divisions)
    chosen = [step for step in every if not wanted or wanted.issuperset(step.divisions)]
    undone = [step for step in reversed(chosen) if step.undo is not None]
    return Putback(
        divisions=tuple(division.id for division in job.divisions if division.id in wanted),
        steps=tuple(PutbackStep(number, step, rehearsal_of(job, step)) for number, step in enumerate(undone, start=1)),
        for_good=tuple(step for step in chosen if step.undo is None),
        staying=tuple(step for step in every if wanted.intersection(step.divisions) and step not in chosen),
    )


def rehearsal_of(job: Job, step: Operation) -> Rehearsal | None:
    """Return the last rehearsal of a step: its own, or that of the only division which needs it."""
    names = (step.id, *(step.divisions if len(step.divisions) == 1 else ()))
    found = [job.rehearsals[name] for name in names if name in job.rehearsals]
    return max(found, key=lambda rehearsal: rehearsal.date) if found else None


def calls_for_putback(job: Job) -> bool:
    """Return whether anything must be as it was found some day: a line is tapped that is not ours, or all is kept."""
    return any(step.kind is OperationKind.TAP_LINE or step.preserved for step in ledger(job))


def rehearsal_names(job: Job) -> tuple[str, ...]:
    """Return everything that a rehearsal may be of: steps that can be undone, and divisions."""
    return (*(step.id for step in ledger(job) if step.undo is not None), *(division.id for division in job.divisions))
