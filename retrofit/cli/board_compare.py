"""`retrofit board PORT compare` and `save`: the job that a board holds, against a file or into one."""

from __future__ import annotations

from pathlib import Path

import click

from retrofit.cli.arguments import FILE_PATH, job_file
from retrofit.cli.board_description import description_text, held_plan
from retrofit.cli.board_port import as_json, json_text, live_board, port_of_group, yes_isolated
from retrofit.cli.board_who import Identity, identity_of
from retrofit.cli.jobs import open_job
from retrofit.cli.output import Exit, Stop, counted, data, raw_data, talk
from retrofit.cli.plans import planned
from retrofit.cli.writing import files_or_stop, refuse_existing
from retrofit.firmware.description import job_revision
from retrofit.firmware.escape import shorten
from retrofit.plan.differences import Difference, plan_differences
from retrofit.plan.model import ConversionPlan
from retrofit.survey.atomic_write import SaveError, write_atomically
from retrofit.survey.job import Job
from retrofit.survey.load import parse_job
from retrofit.survey.problems import JobFileError

_NONE_KEPT = "the board keeps no job description, so what differs cannot be said"


@click.command(short_help="Say whether it holds the plan of a job file, and what differs.")
@job_file
@yes_isolated
@as_json
@port_of_group
def compare(port: str, file: Path, yes_isolated: bool, as_json: bool) -> None:
    """Say whether the board holds the plan of FILE, and if not, what differs, point by point.

    What differs is found by planning the job description that the board keeps.  It ends with 1 when the board holds
    something else.
    """
    plan = planned(open_job(file))
    with live_board(port, plan.job, yes_isolated) as board:
        identity = identity_of(board)
        in_place = board.who.remap_rows_used
        same = identity.digest == plan.digest
        text = "" if same else description_text(board)
    if in_place:
        talk(f"{counted(in_place, 'contact')} of the board play in place of others; see: remap show {file}")
    differing = () if same or not text else _differences(text, identity, plan)
    if as_json:
        raw_data(json_text(_content(identity, plan, differing)))
    else:
        _say(file, identity, plan, differing)
    if not same:
        remedy = (
            f"build and load the sketch of {file}, or read the board's own job with: retrofit board {port} save FILE"
        )
        raise Stop(
            Exit.PROBLEMS, *(() if text else (_NONE_KEPT,)), f"the board does not hold the plan of {file}", remedy
        )


def _differences(text: str, identity: Identity, plan: ConversionPlan) -> tuple[Difference, ...]:
    held = held_plan(text)
    if held.digest != identity.digest:
        talk(
            f"this version of the program plans the board's job as {held.digest}, not as {identity.digest}: "
            "some of what differs may come of the program, and not of the job"
        )
    return plan_differences(held, plan)


def _say(file: Path, identity: Identity, plan: ConversionPlan, differing: tuple[Difference, ...]) -> None:
    data(f"board  plan {identity.digest}, revision {identity.revision}: {_name(identity, plan)}")
    data(f"file   plan {plan.digest}, revision {job_revision(plan)}: {plan.job.instrument.name}")
    for one in differing:
        data(f"{one.subject}: {one.what}: on the board {one.first}, in the file {one.second}")
    if identity.digest != plan.digest:
        return
    data(f"the board holds the plan of {file}")
    if identity.revision != job_revision(plan):
        data("the file's remarks, readings or conditions changed since; what the board does is the same")


def _name(identity: Identity, plan: ConversionPlan) -> str:
    """Return the name of the board's job: the file's, where the board has as much of it as it keeps of a long name."""
    whole = plan.job.instrument.name
    return whole if identity.name == shorten(whole) else identity.name


def _content(identity: Identity, plan: ConversionPlan, differing: tuple[Difference, ...]) -> dict[str, object]:
    rows = [{"subject": d.subject, "what": d.what, "board": d.first, "file": d.second} for d in differing]
    return {
        "same": identity.digest == plan.digest,
        "board": {"job": _name(identity, plan), "digest": identity.digest, "revision": identity.revision},
        "file": {"job": plan.job.instrument.name, "digest": plan.digest, "revision": job_revision(plan)},
        "differences": rows,
    }


@click.command(short_help="Write the job that it keeps into a new job file.")
@click.argument("file", metavar="FILE", type=FILE_PATH)
@yes_isolated
@port_of_group
def save(port: str, file: Path, yes_isolated: bool) -> None:
    """Write the job description that the board keeps into the new job file FILE; never overwrites.

    It is written as the board keeps it even where this version of the program finds fault with it.
    """
    refuse_existing(file)
    with live_board(port, None, yes_isolated) as board:
        identity = identity_of(board)
        text = description_text(board)
    if not text:
        raise Stop(Exit.PROBLEMS, "the board keeps no job description; its job wants none kept, or was built without")
    with files_or_stop(SaveError):
        write_atomically(file, text, None)
    data(f"{file}: the job of the board, plan {identity.digest}, revision {identity.revision}")
    _say_whether_it_plans(file, text, identity)


def _say_whether_it_plans(file: Path, text: str, identity: Identity) -> None:
    try:
        job: Job = parse_job(text, str(file))
    except JobFileError as error:
        said = (str(problem) for problem in error.problems)
        raise Stop(
            Exit.PROBLEMS, *said, f"{file} is written, and this version of the program finds fault with it"
        ) from error
    digest = planned(job).digest
    if digest != identity.digest:
        raise Stop(
            Exit.PROBLEMS,
            f"{file} is written, and this version of the program plans it as {digest}",
            "the version that wrote the board's sketch plans it as the board has it",
        )
