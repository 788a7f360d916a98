"""`retrofit record`: keeps the plan's addresses in the job file, and how far a division has come."""

from __future__ import annotations

from pathlib import Path

import click

from retrofit.cli.arguments import accept_moves, job_file
from retrofit.cli.jobs import open_job
from retrofit.cli.moves import agree_to_moves
from retrofit.cli.names import known_name
from retrofit.cli.output import counted, data
from retrofit.cli.plans import planned, refuse_errors
from retrofit.cli.writing import files_or_stop
from retrofit.plan.model import ConversionPlan
from retrofit.survey.atomic_write import SaveError
from retrofit.survey.instrument import Progress
from retrofit.survey.job import Job
from retrofit.survey.save import record_addresses, set_progress


@click.command()
@job_file
@click.option("--wired", metavar="DIVISION", multiple=True, help="This division is wired now; may be repeated.")
@click.option("--proven", metavar="DIVISION", multiple=True, help="This division is proven now; may be repeated.")
@accept_moves
def command(file: Path, wired: tuple[str, ...], proven: tuple[str, ...], accept_moves: bool) -> None:
    """Write the plan's addresses into the job file, and set how far divisions have come.

    From then on a point of a wired or proven division never moves, whatever is added.  A recorded point that is not
    wired yet moves only when you agree.  Comments and order of the file stay; the file before is kept as a backup.
    """
    job = open_job(file)
    progress = _progress(job, wired, proven)
    plan = planned(job)
    refuse_errors(plan, file)
    agree_to_moves(plan, accept_moves)
    addresses = _addresses(plan)
    with files_or_stop(SaveError):
        record_addresses(file, addresses)
        for division, step in progress.items():
            set_progress(file, division, step)
    data(f"{file}: {counted(len(addresses), 'address')} recorded")
    for division, step in progress.items():
        data(f"{file}: {division} is {step}")


def _progress(job: Job, wired: tuple[str, ...], proven: tuple[str, ...]) -> dict[str, Progress]:
    """Return the new progress of each division named; what is proven is wired too."""
    known = [division.id for division in job.divisions]
    steps = dict.fromkeys((known_name("division", name, known) for name in wired), Progress.WIRED)
    return steps | dict.fromkeys((known_name("division", name, known) for name in proven), Progress.PROVEN)


def _addresses(plan: ConversionPlan) -> dict[str, str]:
    """Return the address of every point that is wired by itself; a point on another's line has none of its own."""
    return {p.point.id: str(p.address) for p in plan.points if p.address is not None and p.point.same_line_as is None}
