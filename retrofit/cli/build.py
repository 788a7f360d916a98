"""`retrofit build`: the firmware sketch and the papers of a job."""

from __future__ import annotations

from pathlib import Path

import click

from retrofit.cli.arguments import FILE_PATH, accept_moves, job_file
from retrofit.cli.building import GATED, write_build
from retrofit.cli.jobs import open_job
from retrofit.cli.moves import agree_to_moves, changes_recorded
from retrofit.cli.output import Exit, Stop, counted, data, talk
from retrofit.cli.plans import planned, refuse_errors
from retrofit.cli.writing import say_written
from retrofit.plan.gate import papers_allowed
from retrofit.plan.model import ConversionPlan
from retrofit.plan.putback import calls_for_putback


@click.command()
@job_file
@click.option("--out", "folder", required=True, type=FILE_PATH, help="Folder to write into.")
@accept_moves
def command(file: Path, folder: Path, accept_moves: bool) -> None:
    """Write the firmware sketch and the papers: wiring schedule, connections, message list, putback sheet.

    The same job gives the same bytes; only what differs is written.  Findings that are errors stop the build.  Where
    the plan would move a recorded address or change a recorded message, that is listed and nothing is written until
    it is agreed to.
    For an instrument that is still powered the papers for work inside it wait until the make-safe record is
    complete.  A putback sheet is written for jobs that tap lines of the organ's or keep its circuits.
    """
    plan = planned(open_job(file))
    refuse_errors(plan, file)
    agree_to_moves(plan, accept_moves)
    built = write_build(plan, folder)
    for path in built.paths:
        say_written(path, path in built.written)
    if changes_recorded(plan):
        talk(f"what is new is not in the job file yet; keep them with: retrofit record {file} --accept-moves")
    if not calls_for_putback(plan.job):
        talk("no putback sheet is written: the job taps no original line and keeps no original circuit")
    data(f"plan {plan.digest} built into {folder}, {counted(len(built.written), 'file')} written")
    say_withheld(plan, file)


def say_withheld(plan: ConversionPlan, file: Path) -> None:
    """End the command when papers were withheld, with the reasons."""
    allowed, reasons = papers_allowed(plan)
    if not allowed:
        raise Stop(
            Exit.PROBLEMS,
            *reasons,
            f"withheld: {', '.join(GATED)}; the sketch and the message list are written",
            f"complete [make_safe] in {file} and build again; this program gives no advice on mains work, "
            "which belongs to licensed people where the law says so",
        )
