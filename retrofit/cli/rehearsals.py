"""Rehearsals of the putback, as `retrofit record` keeps them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from pydantic import ValidationError

from retrofit.cli.output import Exit, Stop, data
from retrofit.cli.writing import files_or_stop
from retrofit.plan.putback import rehearsal_names
from retrofit.survey.atomic_write import SaveError
from retrofit.survey.job import Job
from retrofit.survey.operations import Rehearsal
from retrofit.survey.problems import did_you_mean
from retrofit.survey.save import record_rehearsals


@dataclass(frozen=True, slots=True)
class Rehearsed:
    """Steps or divisions that were rehearsed, when and by whom."""

    names: tuple[str, ...]
    rehearsal: Rehearsal


def asked_rehearsals(
    job: Job, rehearsed: tuple[str, ...], initials: str | None, on: datetime | None
) -> Rehearsed | None:
    """Return what the options ask to be kept, None when nothing; end the command when they do not fit together."""
    if not rehearsed:
        if initials is not None or on is not None:
            raise Stop(Exit.USAGE, "--initials and --date say who rehearsed and when; --rehearsed says what")
        return None
    if initials is None:
        raise Stop(Exit.USAGE, "--rehearsed without --initials; say who did it: --initials XX")
    known = rehearsal_names(job)
    names = tuple(dict.fromkeys(_known(name, known) for name in rehearsed))
    when = date.today() if on is None else on.date()
    try:
        return Rehearsed(names, Rehearsal(date=when, initials=initials))
    except ValidationError as error:
        raise Stop(Exit.USAGE, f"--initials {initials!r}: 1 to 8 letters are allowed") from error


def _known(name: str, known: Sequence[str]) -> str:
    """Return a name that is known; otherwise end the command with the nearest one (all of them would fill pages)."""
    if name in known:
        return name
    remedy = did_you_mean(name, known) or "the column 'operation' of putback-sheet.csv has all of them"
    raise Stop(Exit.USAGE, f"there is no step or division {name!r}; {remedy}")


def keep_rehearsals(file: Path, rehearsed: Rehearsed) -> None:
    """Write rehearsals into the job file."""
    rehearsal = rehearsed.rehearsal
    with files_or_stop(SaveError):
        record_rehearsals(file, rehearsed.names, rehearsal.date, rehearsal.initials)
    for name in rehearsed.names:
        data(f"{file}: {name} rehearsed on {rehearsal.date.isoformat()} by {rehearsal.initials}")
