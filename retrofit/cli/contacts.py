"""`retrofit contacts`: the contact list of a group, to a spreadsheet and back."""

from __future__ import annotations

from pathlib import Path

import click

from retrofit.cli.arguments import FILE_PATH, job_file
from retrofit.cli.jobs import open_job, stop_if_not_read
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, counted, data, raw_data
from retrofit.cli.removals import agree_to_removals
from retrofit.cli.writing import files_or_stop, say_written, write_text
from retrofit.survey.atomic_write import SaveError
from retrofit.survey.contacts import ListedGroup, RollerGroup
from retrofit.survey.contacts_csv import contacts_to_csv, load_contacts
from retrofit.survey.job import Job
from retrofit.survey.problems import JobFileError
from retrofit.survey.save import replace_points

group_id = click.argument("group", metavar="GROUP")
_SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t"}


@click.group()
def command() -> None:
    """Take a group's contact list to a spreadsheet and back."""


@command.command("export")
@job_file
@group_id
@click.option("--out", type=FILE_PATH, help="Write to this file instead of stdout.")
@click.option(
    "--separator",
    type=click.Choice([*_SEPARATORS]),
    default="comma",
    show_default=True,
    help="Mark between cells.",
)
def export_contacts(file: Path, group: str, out: Path | None, separator: str) -> None:
    """Write the contact list of GROUP as CSV.

    A cell that a spreadsheet could take for a formula gets an apostrophe before it; the import takes it off again.
    """
    text = contacts_to_csv(_listed_group(open_job(file), group), _SEPARATORS[separator])
    if out is None:
        raw_data(text)
    else:
        say_written(out, write_text(out, text))


@command.command("import")
@job_file
@group_id
@click.argument("csv", metavar="CSV", type=FILE_PATH)
@click.option("--accept-removals", is_flag=True, help="Take out points that the list lacks without asking.")
def import_contacts(file: Path, group: str, csv: Path, accept_removals: bool) -> None:
    """Read the contact list of GROUP back from CSV into the job file.

    Comma, semicolon and tab are all understood.  Points that the list lacks would go, with their notes and recorded
    readings: they are named, and nothing is written until you agree.  Comments of points that stay are kept, and so is
    the file as it was, as a numbered backup.
    """
    listed = _listed_group(open_job(file), group)
    try:
        changed = load_contacts(csv, listed)
        agree_to_removals(listed, changed, accept_removals)
        with files_or_stop(SaveError):
            replace_points(file, changed)
    except JobFileError as error:
        stop_if_not_read(error)
        raise Stop(Exit.PROBLEMS, *map(str, error.problems), "nothing written") from error
    data(f"{file}: {group} has {counted(len(changed.points), 'point')} written out")


def _listed_group(job: Job, name: str) -> ListedGroup:
    known_name("group", name, [group.id for group in job.groups])
    group = next(group for group in job.groups if group.id == name)
    if isinstance(group, RollerGroup):
        raise Stop(Exit.USAGE, f"{name} is a roller; its stages are counted, not listed")
    return group
