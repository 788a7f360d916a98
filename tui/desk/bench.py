"""The guided reading without its screen: which line is read by whom, what comes next, and what was found so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from retrofit.circuits.line.next_reading import Step, next_step, steps_again
from retrofit.cli.reading_answer import answer_rows
from retrofit.midi.names import note_name
from retrofit.plan.bench_words import hands
from retrofit.plan.guided_reading import Question, Signed, answered, is_unknown, questions
from retrofit.plan.line_evidence import line_evidence, lines_read
from retrofit.survey.contacts import Group
from retrofit.survey.job import Job
from retrofit.survey.make_safe import SafeStep
from retrofit.survey.points import Point, group_points
from retrofit.survey.save import Edit


@dataclass(frozen=True, slots=True)
class Bench:
    """One line of a group that is being read; `skipped` are steps that are not asked again in this sitting."""

    signed: Signed
    skipped: tuple[Step, ...] = ()

    def skipping(self, step: Step) -> Bench:
        """Return the bench without a step."""
        return replace(self, skipped=(*self.skipped, step))


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked next of a line, None when nothing more would help, and what the readings say so far, by label.

    `taken` tells whether anything was written down since: it differs whenever the readings of the group do.
    """

    step: Step | None
    again: bool
    hands: tuple[str, ...]
    questions: tuple[Question, ...]
    found: tuple[tuple[str, str], ...]
    taken: tuple[object, ...]


def group_of(job: Job, group: str) -> Group | None:
    """Return a group of the job, None when there is none of this id any more."""
    return next((one for one in job.groups if one.id == group), None)


def asked(job: Job, group: Group, bench: Bench) -> Asked:
    """Return what is asked next; readings that contradict each other are asked for again."""
    line = bench.signed.line
    evidence = line_evidence(job, group, line)
    step, again = next_step(evidence, bench.skipped), False
    found = answer_rows(job, group, line, bench.skipped)
    if step is None and any(label == "impossible" for label, _ in found):
        step, again = next((one for one in steps_again(evidence) if one not in bench.skipped), None), True
    point = next((one for one in group_points(group) if one.id == line), None)
    return Asked(
        step,
        again,
        () if step is None else hands(step, line, point),
        () if step is None else questions(step),
        found,
        (*group.wiring.readings, group.wiring.dead),
    )


def edit_of(bench: Bench, step: Step, answers: Mapping[str, str]) -> Edit | None:
    """Return the edit that writes what was answered, None when nothing was: then the step is skipped."""
    given = {name: text.strip() for name, text in answers.items() if not is_unknown(text)}
    wanted_line = step.key == "other-line" and len(given) < len(answers)
    return None if not given or wanted_line else answered(bench.signed, step, given)


def partly(answers: Mapping[str, str]) -> bool:
    """Return whether something was left out of the answers."""
    return any(is_unknown(text) for text in answers.values())


def label_of(bench: Bench, step: Step, answers: Mapping[str, str]) -> str:
    """Return what was written down, for the list of edits."""
    how = f"{step.state}, {step.load}" if step.state is not None else step.key.replace("_", " ")
    given = ", ".join(text.strip() for text in answers.values() if not is_unknown(text))
    return f"reading of {bench.signed.line} ({how}): {given}"


def draft_key(bench: Bench, step: Step, question: Question) -> str:
    """Return under which key an answer that is being typed is kept."""
    how = f"{step.state}.{step.load}" if step.state is not None else step.key
    return f"reading.{bench.signed.group}.{bench.signed.line}.{how}.{question.name}"


def lines_of(group: Group) -> tuple[tuple[str, tuple[str, str, str]], ...]:
    """Return the lines that can be read: id, then its id, its name with tag, and how many readings it has."""
    counts = {line: sum(reading.line == line for reading in group.wiring.readings) for line in lines_read(group)}
    points = {point.id: _named(point) for point in group_points(group) if point.takes_part}
    by_tag = {line: "by its tag" for line in counts if line not in points}
    return tuple(
        (line, (line, words, f"{counts[line]} read" if line in counts else "not read"))
        for line, words in {**by_tag, **points}.items()
    )


def _named(point: Point) -> str:
    name = point.name or ("" if point.note is None else note_name(point.note))
    return f"{name}, tag {point.found.tag}" if point.found.tag else name


def unsafe(job: Job) -> tuple[str, ...]:
    """Return the make-safe steps that nobody has signed, in words."""
    return tuple(_SAFE[step] for step in job.make_safe.missing_steps)


_SAFE = {
    SafeStep.MAINS_UNPLUGGED: "mains unplugged: a switch is not isolation",
    SafeStep.OTHER_FEEDS_FOUND: "other feeds found: blower, amplifier, lamps and tremulant may have mains of their own",
    SafeStep.PROVED_DEAD: "proved dead, with a meter that was itself proved before and after",
    SafeStep.CAPACITORS_DISCHARGED: "capacitors discharged",
    SafeStep.FUSES_AS_FOUND: "fuses as found: none bridged, none of another size",
    SafeStep.CONSOLE_STEADY: "console steady: it cannot tip with pedalboard and bench out",
    SafeStep.LICENSED_PERSON_ASKED: "a licensed person asked, where the law of the place wants it",
}
