"""`retrofit new`: the job file of a console just seen, from questions on a terminal or from options."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from retrofit.cli.arguments import FILE_PATH
from retrofit.cli.asking import ask, ask_yes_or_no
from retrofit.cli.output import Exit, Stop, data, talk
from retrofit.cli.schema import schema_text
from retrofit.cli.writing import files_or_stop, refuse_existing, say_written, write_text
from retrofit.survey.atomic_write import SaveError, write_atomically
from retrofit.survey.instrument import MidiOut
from retrofit.survey.new_job import NewCompass, NewJob, answer_problems, new_job_text, parse_compass
from retrofit.survey.problems import JobFileError, Problem
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
_OPTIONS = {"manuals": "manual"}
"""Options whose name is not the first word of the answer's."""


@click.command()
@click.argument("file", metavar="FILE", type=FILE_PATH)
@click.option("--name", help="Name of the instrument.")
@click.option("--manual", "manuals", metavar=_KEYS, type=_COMPASS, multiple=True, help="A manual; the lowest first.")
@click.option("--pedal", metavar=_KEYS, type=_COMPASS, help="The pedalboard: 32, or 25@36.")
@click.option("--stops", metavar="N", type=int, help="Tabs or drawknobs.")
@click.option("--pistons", metavar="N", type=int, help="Thumb pistons.")
@click.option("--studs", metavar="N", type=int, help="Toe studs.")
@click.option("--shoes", metavar="N", type=int, help="Expression shoes.")
@click.option("--roller", metavar="N", type=int, help="Stages of a crescendo roller.")
@click.option("--preserve/--take-over", "preserved", default=None, help="Whether every original circuit stays.")
@click.option(
    "--board",
    default="atmega2560",
    show_default=True,
    help="The controller board: also atmega32u4 or rp2040.",
)
@click.option(
    "--midi-out",
    type=click.Choice([outlet.value for outlet in MidiOut]),
    default=MidiOut.DIN.value,
    show_default=True,
    help="How MIDI leaves the board; USB needs an ATmega32U4 or an RP2040.",
)
def command(file: Path, **answers: Any) -> None:
    """Write the job file of a console just seen; an existing file is never overwritten.

    On a terminal, whatever no option says is asked for.  Elsewhere --name is needed, and what no option says is absent.
    """
    refuse_existing(file)
    _refuse_wrong_options(answers)
    job = _job(_complete(answers))
    try:
        text = new_job_text(job)
    except JobFileError as error:
        raise Stop(Exit.USAGE, *map(_option_words, error.problems), "nothing written") from error
    with files_or_stop(SaveError):
        file.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(file, text, None)
    schema = file.with_name(SCHEMA_FILE_NAME)
    if not schema.exists():
        say_written(schema, write_text(schema, schema_text()))
    data(f"{file} written; every reading in it says unknown until it is taken")
    talk('next: say for every group whose voltage is on its lines: owner = "organ" or "us" under [groups.wiring]')
    talk(f"then: retrofit check {file}")


def _complete(answers: dict[str, Any]) -> dict[str, Any]:
    """Return the answers, asked for where somebody can answer."""
    if sys.stdin.isatty():
        return _asked(answers)
    if not answers["name"]:
        raise Stop(Exit.USAGE, "--name is needed where no question can be asked", "see: retrofit new --help")
    return answers


def _looked_at(key: str, convert: Callable[[str], Any]) -> Callable[[str], Any]:
    """Return what turns an answer into its value, or refuses it with what is allowed."""

    def understood(answer: str) -> Any:
        value = convert(answer)
        if refusals := _refusals({key: value}):
            raise click.UsageError("; ".join(f"found {one.found}; allowed {one.allowed}" for one in refusals))
        return value

    return understood


def _number(answer: str) -> int:
    if not re.fullmatch(r" *-?[0-9]{1,9} *", answer):
        raise click.UsageError(f"found {answer!r}; allowed is a whole number")
    return int(answer)


def _compasses(answer: str) -> tuple[NewCompass, ...]:
    return tuple(_COMPASS.convert(part, None, None) for part in answer.replace(",", " ").split())


def _compass_or_none(answer: str) -> NewCompass | None:
    return None if answer.strip() == "0" else _COMPASS.convert(answer, None, None)


_QUESTIONS: dict[str, tuple[str, str | None, Callable[[str], Any]]] = {
    "name": ("Name of the instrument", None, str),
    "manuals": ("Manuals, the lowest first: keys of each (61 61, or 49@C3)", "61 61", _compasses),
    "pedal": ("Pedals: keys, 0 for none", "32", _compass_or_none),
    "stops": ("Tabs or drawknobs", "0", _number),
    "pistons": ("Thumb pistons", "0", _number),
    "studs": ("Toe studs", "0", _number),
    "shoes": ("Expression shoes", "0", _number),
    "roller": ("Stages of a crescendo roller, 0 for none", "0", _number),
}
"""What is asked, the answer that an empty line gives, and what understands it; asked in this order."""


def _asked(answers: dict[str, Any]) -> dict[str, Any]:
    """Return the answers with every open one asked for."""
    said = dict(answers)
    for key, (question, default, convert) in _QUESTIONS.items():
        if said[key] is None or said[key] == ():
            said[key] = ask(question, default, _looked_at(key, convert))
    if said["preserved"] is None:
        said["preserved"] = ask_yes_or_no("Must every original circuit stay as it is", default=True)
    return said


def _refuse_wrong_options(answers: dict[str, Any]) -> None:
    """End the command when options say what cannot be, before anything is asked."""
    refusals = _refusals({key: answer for key, answer in answers.items() if answer not in (None, ())})
    if refusals:
        raise Stop(Exit.USAGE, *map(_option_words, refusals), "nothing written; see: retrofit new --help")


def _refusals(answers: dict[str, Any]) -> tuple[Problem, ...]:
    """Return what is wrong with some of the answers, whatever the others will be."""
    return tuple(answer_problems(_job({"name": "any", **answers})))


def _option_words(problem: Problem) -> str:
    option = problem.key.split()[0]
    return f"--{_OPTIONS.get(option, option)}: found {problem.found}; allowed {problem.allowed}"


def _job(answers: dict[str, Any]) -> NewJob:
    """Return the answers as a new job; what nobody answered is absent."""
    said = {key: answer for key, answer in answers.items() if answer is not None}
    said["roller_stages"] = said.pop("roller", 0)
    if "midi_out" in said:
        said["midi_out"] = MidiOut(said["midi_out"])
    return NewJob(**said)
