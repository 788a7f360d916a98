"""`retrofit ui`: opens a job on the text screen."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from retrofit.cli.arguments import job_file
from retrofit.cli.jobs import open_job
from retrofit.cli.output import Exit, Stop
from retrofit.cli.plans import planned


@click.command()
@job_file
def command(file: Path) -> None:
    """Look at a job on a text screen: groups, points, messages and findings.

    Nothing is changed.  Keys alone are enough; `?` lists them.
    """
    plan = planned(open_job(file))
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise Stop(Exit.FILES, f"a terminal is needed for the text screen; see: retrofit plan {file}")
    from tui.app import PlanApp  # noqa: PLC0415  # the text screens load only when a job is there to be shown

    PlanApp(plan).run()
