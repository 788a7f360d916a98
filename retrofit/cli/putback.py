"""`retrofit putback`: how everything comes out again, as pages to be printed and ticked off."""

from __future__ import annotations

from pathlib import Path

import click

from retrofit.cli.arguments import FILE_PATH, job_file
from retrofit.cli.jobs import open_job
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, counted, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.cli.writing import say_written, write_text
from retrofit.papers.putback_sheet import putback_sheet_text
from retrofit.plan.gate import papers_allowed
from retrofit.plan.model import ConversionPlan
from retrofit.plan.putback import put_back


@click.command()
@job_file
@click.option("--division", "divisions", metavar="DIVISION", multiple=True, help="Only this one; may be repeated.")
@click.option("--out", type=FILE_PATH, help="Write to this file instead of stdout.")
def command(file: Path, divisions: tuple[str, ...], out: Path | None) -> None:
    """Print how everything comes out again, in order, with what must be seen and read after each step.

    With --division only what no other division needs comes out; the sheet lists what stays.  Pages have 80 columns and
    60 lines.  Nothing is printed for a powered instrument until its make-safe record is complete.
    """
    plan = planned(open_job(file))
    known = [division.id for division in plan.job.divisions]
    chosen = tuple(known_name("division", name, known) for name in divisions)
    _refuse_unsafe(plan, file)
    text = putback_sheet_text(plan, chosen)
    if out is None:
        raw_data(text)
    else:
        say_written(out, write_text(out, text))
    _say_what_is_left(plan, chosen)


def _refuse_unsafe(plan: ConversionPlan, file: Path) -> None:
    allowed, reasons = papers_allowed(plan)
    if not allowed:
        raise Stop(
            Exit.PROBLEMS,
            *reasons,
            f"the putback sheet is withheld; complete [make_safe] in {file}; work on mains belongs to licensed people "
            "where the law says so",
        )


def _say_what_is_left(plan: ConversionPlan, divisions: tuple[str, ...]) -> None:
    putback = put_back(plan.job, divisions)
    talk(
        f"{counted(len(putback.steps), 'step')}; {counted(len(putback.for_good), 'step')} that cannot be undone; "
        f"{counted(len(putback.staying), 'step')} left in for other divisions"
    )
