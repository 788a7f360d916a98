"""`retrofit record`: keeps the plan's addresses and messages, how far a division has come, and rehearsals."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from retrofit.cli.arguments import accept_moves, job_file
from retrofit.cli.jobs import open_job
from retrofit.cli.moves import agree_to_moves
from retrofit.cli.names import known_name
from retrofit.cli.output import counted, data
from retrofit.cli.plans import planned, refuse_errors
from retrofit.cli.rehearsals import asked_rehearsals, keep_rehearsals
from retrofit.cli.writing import files_or_stop
from retrofit.plan.as_built import addresses_to_record, messages_to_record
from retrofit.survey.atomic_write import SaveError
from retrofit.survey.instrument import Progress
from retrofit.survey.job import Job
from retrofit.survey.save import record_plan


@click.command()
@job_file
@click.option("--wired", metavar="DIVISION", multiple=True, help="This division is wired now; may be repeated.")
@click.option("--proven", metavar="DIVISION", multiple=True, help="This division is proven now; may be repeated.")
@click.option(
    "--rehearsed", metavar="STEP|DIVISION", multiple=True, help="This was taken out and put in again; may be repeated."
)
@click.option("--initials", metavar="XX", help="Who rehearsed it.")
@click.option("--date", "on", type=click.DateTime(["%Y-%m-%d"]), help="When it was rehearsed; today unless said.")
@accept_moves
def command(file: Path, wired: tuple[str, ...], proven: tuple[str, ...], accept_moves: bool, **rehearsal: Any) -> None:
    """Write the plan's addresses and messages into the job file, and set how far divisions have come.

    From then on a point of a wired or proven division never moves, and goes on sending what it sent, whatever is
    added.  A recorded point that is not wired yet moves, or sends something else, only when you agree.  Comments and
    order of the file stay; the file before is kept as a backup.

    With --rehearsed and neither --wired nor --proven, addresses and messages stay as they are, and the rehearsal
    of a putback step (by its id, as in the putback sheet's CSV) or of a whole division is kept with date and initials.
    """
    job = open_job(file)
    progress = _progress(job, wired, proven)
    rehearsed = asked_rehearsals(job, **rehearsal)
    if progress or rehearsed is None:
        _record_plan(file, job, progress, accept_moves)
    if rehearsed is not None:
        keep_rehearsals(file, rehearsed)


def _record_plan(file: Path, job: Job, progress: dict[str, Progress], accept_moves: bool) -> None:
    plan = planned(job)
    refuse_errors(plan, file)
    agree_to_moves(plan, accept_moves)
    addresses, messages = addresses_to_record(plan.points), messages_to_record(plan.points)
    with files_or_stop(SaveError):
        record_plan(file, addresses, messages, progress)
    data(f"{file}: {counted(len(addresses), 'address')} recorded")
    data(f"{file}: {counted(len(messages), 'message')} recorded")
    for division, step in progress.items():
        data(f"{file}: {division} is {step}")


def _progress(job: Job, wired: tuple[str, ...], proven: tuple[str, ...]) -> dict[str, Progress]:
    """Return the new progress of each division named; what is proven is wired too."""
    known = [division.id for division in job.divisions]
    steps = dict.fromkeys((known_name("division", name, known) for name in wired), Progress.WIRED)
    return steps | dict.fromkeys((known_name("division", name, known) for name in proven), Progress.PROVEN)
