"""`retrofit new`: the job file of a console just seen, from questions on a terminal or from options."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from retrofit.cli.output import Exit, Stop, data
from retrofit.cli.schema import schema_text
from retrofit.cli.writing import files_or_stop, say_written, write_text
from retrofit.survey.atomic_write import SaveError, write_atomically
from retrofit.survey.new_job import NewCompass, NewJob, new_job_text, parse_compass
from retrofit.survey.problems import JobFileError
from retrofit.survey.schema import SCHEMA_FILE_NAME


class CompassType(click.ParamType[NewCompass]):
    """Keys of a manual or pedalboard: `61`, or `61@36` with the lowest note."""

    name = "compass"

    def convert(self, value: str | NewCompass, param: click.Parameter | None, ctx: click.Context | None) -> NewCompass:
        """Return the compass, or say what is allowed."""
        if isinstance(value, NewCompass):
            return value
        try:
            return parse_compass(value)
        except ValueError as error:
            self.fail(str(error), param, ctx)


_COMPASS = CompassType()
_KEYS = "KEYS[@LOWEST]"


@click.command()
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--name", help="Name of the instrument.")
@click.option("--manual", "manuals", metavar=_KEYS, type=_COMPASS, multiple=True, help="A manual; the lowest first.")
@click.option("--pedal", metavar=_KEYS, type=_COMPASS, help="The pedalboard: 32, or 25@36.")
@click.option("--stops", metavar="N", type=int, help="Tabs or drawknobs.")
@click.option("--pistons", metavar="N", type=int, help="Thumb pistons.")
@click.option("--studs", metavar="N", type=int, help="Toe studs.")
@click.option("--shoes", metavar="N", type=int, help="Expression shoes.")
@click.option("--roller", metavar="N", type=int, help="Stages of a crescendo roller.")
@click.option("--preserve/--take-over", "preserved", default=None, help="Whether every original circuit stays.")
@click.option("--board", default="atmega2560", show_default=True, help="The controller board.")
def command(file: Path, **answers: Any) -> None:
    """Write the job file of a console just seen; an existing file is never overwritten.

    On a terminal, whatever no option says is asked for.  Elsewhere --name is needed, and what no option says is absent.
    """
    _refuse_existing(file)
    job = _job(_asked(answers) if sys.stdin.isatty() else answers)
    try:
        text = new_job_text(job)
    except JobFileError as error:
        raise Stop(Exit.USAGE, *map(str, error.problems)) from error
    with files_or_stop(SaveError):
        file.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(file, text, None)
    schema = file.with_name(SCHEMA_FILE_NAME)
    if not schema.exists():
        say_written(schema, write_text(schema, schema_text()))
    data(f"{file} written; every reading in it says unknown until it is taken")


def _refuse_existing(file: Path) -> None:
    if file.exists():
        raise Stop(Exit.FILES, f"{file}: found a file of that name; a new name is needed; nothing written")


_QUESTIONS: dict[str, Callable[[], Any]] = {
    "name": lambda: _ask("Name of the instrument"),
    "manuals": lambda: _ask("Manuals, the lowest first: keys of each (61 61, or 49@C3)", "61 61", _compasses),
    "pedal": lambda: _ask("Pedals: keys, 0 for none", "32", _compass_or_none),
    "stops": lambda: _ask("Tabs or drawknobs", "0", click.IntRange(0, 512)),
    "pistons": lambda: _ask("Thumb pistons", "0", click.IntRange(0, 512)),
    "studs": lambda: _ask("Toe studs", "0", click.IntRange(0, 512)),
    "shoes": lambda: _ask("Expression shoes", "0", click.IntRange(0, 8)),
    "roller": lambda: _ask("Stages of a crescendo roller, 0 for none", "0", click.IntRange(0, 64)),
    "preserved": lambda: click.confirm("Must every original circuit stay as it is", default=True, err=True),
}


def _asked(answers: dict[str, Any]) -> dict[str, Any]:
    """Return the answers with every open one asked for."""
    still_open = {key for key, answer in answers.items() if answer is None or answer == ()}
    return answers | {key: ask() for key, ask in _QUESTIONS.items() if key in still_open}


def _ask(question: str, default: str | None = None, understood: Callable[[str], Any] = str) -> Any:
    """Ask until the answer is understood; what was answered before is kept."""
    return click.prompt(question, default=default, value_proc=understood, err=True)


def _compasses(answer: str) -> tuple[NewCompass, ...]:
    return tuple(_COMPASS.convert(part, None, None) for part in answer.replace(",", " ").split())


def _compass_or_none(answer: str) -> NewCompass | None:
    return None if answer.strip() == "0" else _COMPASS.convert(answer, None, None)


def _job(answers: dict[str, Any]) -> NewJob:
    """Return the answers as a new job; what nobody answered is absent."""
    if not answers["name"]:
        raise Stop(Exit.USAGE, "--name is needed where no question can be asked", "see: retrofit new --help")
    said = {key: answer for key, answer in answers.items() if answer is not None}
    said["roller_stages"] = said.pop("roller", 0)
    return NewJob(**said)
