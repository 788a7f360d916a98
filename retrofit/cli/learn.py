"""`retrofit learn`: a group was wired in any order; one slow run over it puts its addresses into the job."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from retrofit.cli.arguments import FILE_PATH, job_file
from retrofit.cli.asking import agreed
from retrofit.cli.board_port import yes_isolated
from retrofit.cli.jobs import open_job
from retrofit.cli.learn_lesson import over_midi, over_the_link
from retrofit.cli.learn_table import refuse_unsettled, say_learned, with_addresses
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, counted, data, talk
from retrofit.cli.plans import planned
from retrofit.cli.writing import files_or_stop
from retrofit.plan.as_built import messages_to_record
from retrofit.plan.model import ConversionPlan
from retrofit.proving.learning.lesson import Lesson
from retrofit.proving.learning.table import NoLessonError, lesson_keys, rewiring
from retrofit.proving.runs.conditions import CAUTIONS
from retrofit.survey.atomic_write import SaveError
from retrofit.survey.instrument import Progress
from retrofit.survey.save import record_plan


@click.command()
@job_file
@click.argument("group", metavar="GROUP")
@click.option("--port", metavar="NAME", help="The MIDI input to listen to; an unmistakable part of its name will do.")
@click.option("--serial", metavar="DEVICE", help="A serial line that carries MIDI at 31,250 baud.")
@click.option("--replay", metavar="FILE", type=FILE_PATH, help="A recording in place of a live console.")
@click.option("--board", metavar="PORT", help="Look at the board over its link: it sees unused inputs, too.")
@click.option("--back", is_flag=True, help="Play back down as well: finds keys that were struck in the wrong order.")
@click.option("--yes", is_flag=True, help="Write what was learned without asking.")
@yes_isolated
def command(
    file: Path, group: str, board: str | None, back: bool, yes: bool, yes_isolated: bool, **source: Any
) -> None:
    """Learn which input is which contact of GROUP, and write that into the job file's [addresses].

    Wire in any order, build and load the sketch, then press every key once, slowly, from the first to the last.  Keys
    that were left out, struck twice or brushed are asked for one by one; nothing is guessed.  What would change is
    shown before it is written; the group's division then counts as wired.  Over MIDI an input that no point has is
    silent; --board sees it.
    """
    job = open_job(file)
    known_name("group", group, [one.id for one in job.groups])
    plan = planned(job)
    if board and any(source.values()):
        raise Stop(Exit.USAGE, "name only one of --board, --port, --serial and --replay")
    try:
        lesson = Lesson(lesson_keys(plan, group), both_ways=back)
    except NoLessonError as error:
        raise Stop(Exit.PROBLEMS, str(error)) from error
    for caution in CAUTIONS:
        talk(f"caution: {caution}")
    if board:
        over_the_link(lesson, plan, file, board, yes_isolated)
    else:
        over_midi(lesson, plan, **source)
    if lesson.stopped:
        refuse_unsettled(lesson)
    found = rewiring(plan, group, lesson.result)
    say_learned(lesson, found, seen=board is not None)
    _write(file, group, with_addresses(plan, group, found.addresses), yes, changes=bool(found.moves))


def _write(file: Path, group: str, after: ConversionPlan, yes: bool, changes: bool) -> None:
    """Write the new addresses once somebody has agreed."""
    division = next(one.division for one in after.job.groups if one.id == group)
    if changes and not (yes or agreed(f"write this into {file}?")):
        raise Stop(Exit.PROBLEMS, "nothing written; --yes writes it without asking")
    with files_or_stop(SaveError):
        record_plan(file, after.job.addresses, messages_to_record(after.points), {division: Progress.WIRED})
    data(f"{file}: {counted(len(after.job.addresses), 'address')} recorded, {division} is wired")
