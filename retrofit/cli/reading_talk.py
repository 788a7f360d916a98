"""Readings taken on a terminal: the next one is asked for until there is none, or the answer is empty."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import click

from retrofit.circuits.line.next_reading import Step, next_step
from retrofit.cli.jobs import open_job
from retrofit.cli.output import data, talk
from retrofit.cli.reading_answer import CAUTION, answer_lines
from retrofit.cli.writing import files_or_stop
from retrofit.plan.line_evidence import line_evidence
from retrofit.survey.atomic_write import SaveError
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job
from retrofit.survey.problems import JobFileError
from retrofit.survey.readings import Load, State
from retrofit.survey.save import append_reading, edit_job, set_value

_UNKNOWN = "unknown"
_OTHER_LINE, _DIODE = "other-line", "diode"
_COUNTED = "leaves"
"""The one that is a whole number in the file."""


@dataclass
class Bench:
    """One line of a group being read by one person on one day."""

    file: Path
    group: str
    line: str
    day: date
    initials: str
    refused: list[Step] = field(default_factory=list)

    def survey(self) -> tuple[Job, GroupBase]:
        """Return the job as the file now has it, and the group."""
        job = open_job(self.file)
        return job, next(group for group in job.groups if group.id == self.group)


def talk_through(file: Path, group: str, day: date, initials: str | None) -> None:
    """Ask for readings of one line until nothing more would help or nothing is answered."""
    talk(CAUTION)
    line = _ask("Line (point id, or the words on its tag)")
    bench = Bench(file, group, line, day, initials or _ask("Your initials"))
    while (step := _next(bench)) is not None:
        if not _taken(bench, step):
            break
    for text in answer_lines(*bench.survey(), line, bench.refused):
        data(text)


def _next(bench: Bench) -> Step | None:
    job, group = bench.survey()
    step = next_step(line_evidence(job, group, bench.line), bench.refused)
    if step is not None:
        talk(f"next: {step.words}")
    return step


def _taken(bench: Bench, step: Step) -> bool:
    """Ask for a step and write it down; return False when the answer is empty.  What is unknown is not asked again."""
    answers = dict(_answers(step))
    if "" in answers.values():
        return False
    if _UNKNOWN in answers.values():
        bench.refused.append(step)
        return True
    try:
        with files_or_stop(SaveError):
            _save(bench, step, answers)
    except JobFileError as error:
        for problem in error.problems:
            talk(str(problem))
        talk("nothing written; once more")
    return True


def _answers(step: Step) -> Iterator[tuple[str, str]]:
    """Yield each answer that a step wants, stopping at an empty or unknown one."""
    for name, question in _questions(step):
        answer = _ask(f"{question} ({_UNKNOWN} skips, empty ends)")
        yield name, answer
        if answer in ("", _UNKNOWN):
            return


def _questions(step: Step) -> tuple[tuple[str, str], ...]:
    if step.load is Load.METER:
        return ("volts", "DC volts"), ("ac_volts", "AC volts")
    if step.load is not None:
        return (("volts", "DC volts"),)
    return {
        _OTHER_LINE: (("line", "Which line"), ("volts", "DC volts, keyed")),
        _DIODE: (("diode_forward", "volts, red on the bus"), ("diode_reverse", "volts, red on the line")),
    }.get(step.key, ((step.key, step.key.replace("_", " ")),))


def _save(bench: Bench, step: Step, answers: dict[str, str]) -> None:
    signed = {"date": bench.day, "initials": bench.initials}
    if step.state is not None and step.load is not None:
        fields = {"line": bench.line, "state": step.state.value, "load": step.load.value, **answers, **signed}
        append_reading(bench.file, bench.group, fields)
    elif step.key == _OTHER_LINE:
        append_reading(bench.file, bench.group, {"state": State.KEYED.value, **answers, **signed})
    else:
        edit_job(bench.file, setting(bench.group, answers))


def setting(group: str, answers: Mapping[str, str]) -> Callable[[Any], None]:
    """Return the edit that writes what is read once for a group."""

    def edit(document: Any) -> None:
        for name, answer in answers.items():
            value = int(answer) if name == _COUNTED and answer.isdecimal() else answer
            set_value(document, ("groups", group, "wiring", "dead", name), value)

    return edit


def _ask(question: str) -> str:
    return str(click.prompt(question, default="", show_default=False, err=True)).strip()
