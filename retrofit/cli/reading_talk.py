"""Readings taken on a terminal: the next one is asked for until there is none, or the answer is empty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import click

from retrofit.circuits.line.next_reading import Step, next_step
from retrofit.cli.jobs import open_job
from retrofit.cli.output import data, talk
from retrofit.cli.reading_answer import CAUTION, answer_lines
from retrofit.cli.writing import files_or_stop
from retrofit.plan.guided_reading import UNKNOWN, Signed, answered, questions
from retrofit.plan.line_evidence import line_evidence
from retrofit.survey.atomic_write import SaveError
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job
from retrofit.survey.problems import JobFileError
from retrofit.survey.save import edit_job


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
    if UNKNOWN in answers.values():
        bench.refused.append(step)
        return True
    try:
        with files_or_stop(SaveError):
            signed = Signed(bench.group, bench.line, bench.day, bench.initials)
            edit_job(bench.file, answered(signed, step, answers))
    except JobFileError as error:
        for problem in error.problems:
            talk(str(problem))
        talk("nothing written; once more")
    return True


def _answers(step: Step) -> Iterator[tuple[str, str]]:
    """Yield each answer that a step wants, stopping at an empty or unknown one."""
    for question in questions(step):
        answer = _ask(f"{question.words} ({UNKNOWN} skips, empty ends)")
        yield question.name, answer
        if answer in ("", UNKNOWN):
            return


def _ask(question: str) -> str:
    return str(click.prompt(question, default="", show_default=False, err=True)).strip()
