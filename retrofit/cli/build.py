"""`retrofit build`: the firmware sketch, the wiring schedule and the message list of a job."""

from __future__ import annotations

from pathlib import Path

import click

from retrofit.cli.arguments import accept_moves, job_file
from retrofit.cli.building import write_build
from retrofit.cli.jobs import open_job
from retrofit.cli.moves import agree_to_moves
from retrofit.cli.output import counted, data, talk
from retrofit.cli.plans import planned, refuse_errors
from retrofit.cli.writing import say_written


@click.command()
@job_file
@click.option("--out", "folder", required=True, type=click.Path(path_type=Path), help="Folder to write into.")
@accept_moves
def command(file: Path, folder: Path, accept_moves: bool) -> None:
    """Write the firmware sketch, the wiring schedule and the message list.

    The same job gives the same bytes; only what differs is written.  Findings that are errors stop the build.  Where
    the plan would move a recorded address, the moves are listed and nothing is written until they are agreed to.
    """
    plan = planned(open_job(file))
    refuse_errors(plan, file)
    agree_to_moves(plan, accept_moves)
    built = write_build(plan, folder)
    for path in built.paths:
        say_written(path, path in built.written)
    if plan.moves:
        talk(f"the new addresses are not in the job file yet; keep them with: retrofit record {file} --accept-moves")
    data(f"plan {plan.digest} built into {folder}, {counted(len(built.written), 'file')} written")
