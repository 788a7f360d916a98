"""`retrofit reading`: readings of lines at the bench, answered with what the line is and what to read next."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import click

from retrofit.cli.arguments import job_file
from retrofit.cli.jobs import open_job, stop_if_not_read
from retrofit.cli.names import known_name
from retrofit.cli.output import Exit, Stop, data, talk
from retrofit.cli.reading_answer import CAUTION, answer_lines
from retrofit.cli.reading_talk import talk_through
from retrofit.cli.writing import files_or_stop
from retrofit.plan.guided_reading import read_once
from retrofit.plan.line_evidence import lines_read
from retrofit.survey.as_found_check import as_found_digest
from retrofit.survey.atomic_write import SaveError
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job
from retrofit.survey.problems import JobFileError
from retrofit.survey.readings import DeadReadings, Load, State
from retrofit.survey.save import append_reading, edit_job, set_value


@click.command()
@job_file
@click.argument("group", metavar="[GROUP]", default="")
@click.option("--line", help="Point id, or the words on the line's tag.")
@click.option(
    "--state", type=click.Choice([state.value for state in State]), help="How the line was while it was read."
)
@click.option(
    "--load",
    type=click.Choice([load.value for load in Load]),
    default=Load.METER.value,
    show_default=True,
    help="What hung on it: the meter alone, or a resistor to return beside the meter.",
)
@click.option("--volts", help='DC volts as shown, e.g. "12,4 V", OL or wanders.')
@click.option("--ac", "ac_volts", help='AC volts as shown, e.g. "6 mV".')
@click.option("--once", "once", metavar="NAME=VALUE", multiple=True, help="A reading taken once for the group.")
@click.option("--date", "when", metavar="DAY", help="Day of the reading, e.g. 2026-03-07; today unless given.")
@click.option("--initials", help="Who took it.")
@click.option("--lock", is_flag=True, help="Lock the readings so far as the as-found record, without GROUP.")
def command(file: Path, group: str, **given: Any) -> None:
    """Take readings of the lines of GROUP, and say what each line is and what to read next.

    On a terminal, without options, every reading is asked for in turn.  With --line, --state and --volts one reading is
    written down; with --once (such as --once series=0,4) one that is taken once for the group.  Nothing that was read
    is ever replaced by a conclusion, and a locked record accepts only readings of later days.
    """
    job = open_job(file)
    if given["lock"]:
        _lock(file, job, _day(given["when"]), _needed(given, "initials"))
        return
    known_name("group", group, [known.id for known in job.groups])
    if _writes(given):
        _write_down(file, group, given)
    elif sys.stdin.isatty():
        talk_through(file, group, _day(given["when"]), given["initials"])
        return
    _answer(open_job(file), group, given["line"])


def _writes(given: dict[str, Any]) -> bool:
    return any(given[name] for name in ("state", "volts", "ac_volts", "once"))


def _write_down(file: Path, group: str, given: dict[str, Any]) -> None:
    """Write what the options say; what they leave open is said, and then nothing is written."""
    once = dict(_once(pair) for pair in given["once"])
    if given["state"] or given["volts"] or given["ac_volts"]:
        fields = {name: _needed(given, name) for name in ("line", "state", "initials")}
        reading = {
            "line": fields["line"],
            "state": fields["state"],
            "load": given["load"],
            **{name: given[name] for name in ("volts", "ac_volts") if given[name]},
            "date": _day(given["when"]),
            "initials": fields["initials"],
        }
        saved(lambda: append_reading(file, group, reading))
    if once:
        saved(lambda: edit_job(file, read_once(group, once)))


def saved(save: Callable[[], None]) -> None:
    """Save to the job file, or end the command with what was wrong; the file is then as it was."""
    try:
        with files_or_stop(SaveError):
            save()
    except JobFileError as error:
        stop_if_not_read(error)
        raise Stop(Exit.PROBLEMS, *map(str, error.problems), "nothing written") from error


def _once(pair: str) -> tuple[str, str]:
    name, mark, value = pair.partition("=")
    if not mark:
        raise Stop(Exit.USAGE, f"--once {pair!r} has no '='; write --once series=0,4")
    known_name("reading", name, list(DeadReadings.model_fields))
    return name, value


def _needed(given: dict[str, Any], name: str) -> str:
    if not given[name]:
        raise Stop(Exit.USAGE, f"--{name} is needed for a reading; nothing written", "see: retrofit reading --help")
    return str(given[name])


def _day(words: str | None) -> date:
    if words is None:
        return date.today()  # the bench's own day, as its calendar shows it
    try:
        return date.fromisoformat(words)
    except ValueError as error:
        raise Stop(Exit.USAGE, f"--date {words!r} is no day; write it as 2026-03-07") from error


def _lock(file: Path, job: Job, day: date, initials: str) -> None:
    if job.as_found.locked is not None:
        raise Stop(Exit.USAGE, f"{file}: locked already on {job.as_found.locked.date}; take that lock out first")
    lock = {"date": day, "initials": initials, "digest": as_found_digest(job, day)}
    saved(lambda: edit_job(file, lambda document: set_value(document, ("as_found", "locked"), lock)))
    data(f"{file}: readings up to {day} are the as-found record, digest {lock['digest']}")


def _answer(job: Job, group_id: str, line: str | None) -> None:
    """Say what is known of the line that was read, or of every line of the group."""
    group: GroupBase = next(group for group in job.groups if group.id == group_id)
    lines = [line] if line in lines_read(group) else lines_read(group)
    talk(CAUTION)
    for name in lines or ("any line",):
        for text in answer_lines(job, group, name):
            data(text)
