"""What the room Sensing tells of a group, in paragraphs under headings; no textual in here."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from retrofit.circuits.sense.design import SenseDesign
from retrofit.circuits.sense.drawing import drawing
from retrofit.cli.output import counted
from retrofit.cli.sensing import (
    LIGHTS,
    choice_words,
    corner_words,
    feels_words,
    judged_words,
    parts_words,
    shared_paragraphs,
)
from retrofit.plan.model import ConversionPlan
from retrofit.plan.preserved import is_preserved
from retrofit.plan.sensing.choose import deciding
from retrofit.plan.sensing.model import GroupSensing

DRAWING, FIGURES, ORGAN, OTHERS, SHARED = (
    "DRAWING",
    "FIGURES OF THE CIRCUIT",
    "WHAT THE ORGAN FEELS",
    "OTHER CIRCUITS",
    "ISOLATION AND SUPPLIES",
)
"""Headings, in the order in which they stand."""

Paragraph = tuple[str, str, str]
"""Words, what stands before their first line, and before the lines that follow."""


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with its paragraphs; `drawn` says that they are lines of a drawing."""

    heading: str
    paragraphs: tuple[Paragraph, ...]
    drawn: bool = False


def group_row(plan: ConversionPlan, sensed: GroupSensing) -> tuple[str, ...]:
    """Return group, interface, verdict, circuit, what a line feels, and whether its originals are preserved."""
    group = next(one for one in plan.groups if one.id == sensed.group)
    found = next(one for one in plan.job.groups if one.id == sensed.group)
    circuit = "none chosen" if sensed.chosen is None else sensed.chosen.circuit
    kept = "kept" if is_preserved(plan.job, found) else "free"
    return sensed.group, group.interface, f"{LIGHTS[sensed.verdict]} {sensed.verdict.value}", kept, circuit


def sections(plan: ConversionPlan, sensed: GroupSensing) -> tuple[Section, ...]:
    """Return everything that is told of a group, and of what all groups share."""
    return (
        Section("", tuple(_head(sensed))),
        Section(DRAWING, tuple(_drawn(sensed)), drawn=True),
        Section(FIGURES, tuple(_figures(sensed.chosen))),
        Section(ORGAN, tuple(_organ(sensed))),
        Section(OTHERS, tuple(_others(sensed))),
        Section(SHARED, tuple(shared_paragraphs(plan)) or (_plain("nothing is joined to the organ, and nothing fed"),)),
    )


def _plain(words: str) -> Paragraph:
    return words, "", ""


def _head(sensed: GroupSensing) -> Iterator[Paragraph]:
    yield _plain(choice_words(sensed))
    if sensed.line_class:
        yield _plain(f"line: {sensed.line_class}")
    if sensed.chosen is None or not sensed.chosen.parts:
        return
    count = sensed.line.lines_at_once
    yield f"for each line: {parts_words(sensed.chosen.parts)}", "", "  "
    yield _plain(f"{counted(count, 'line')} of this group can be held at once")


def _drawn(sensed: GroupSensing) -> Iterator[Paragraph]:
    lines = () if sensed.chosen is None else drawing(sensed.chosen, sensed.line)
    yield from map(_plain, lines or ("no drawing: no circuit is chosen, or its values are not known yet",))


def _figures(design: SenseDesign | None) -> Iterator[Paragraph]:
    if design is None:
        yield _plain("no circuit is chosen; below stands what speaks against each")
        return
    worst = deciding(design)
    for judged in design.judged:
        mark = "  <- decides" if judged is worst else ""
        yield f"{judged_words(judged)}{mark}", "", "    "
        if corner_words(judged):
            yield corner_words(judged), "    ", "    "
    yield from ((words, "note ", "     ") for words in design.remarks)


def _organ(sensed: GroupSensing) -> Iterator[Paragraph]:
    if sensed.line.ours:
        yield _plain("nothing: these lines are ours from end to end")
        return
    yield _plain(feels_words(sensed.feels) or "not known while no circuit is chosen")
    yield from ((words, "MIDI ", "     ") for words in sensed.midi_otherwise)


def _others(sensed: GroupSensing) -> Iterator[Paragraph]:
    for design in (*sensed.ranked, *sensed.refused):
        if design is not sensed.chosen:
            yield f"{LIGHTS[design.verdict]} {design.circuit}", "", "    "
            yield from ((words, "    ", "    ") for words in _why(design))


def _why(design: SenseDesign) -> Iterator[str]:
    """Yield the reasons against a circuit; of one that is permitted every figure, with the corner of what decides."""
    yield from design.refusals
    if design.refusals:
        return
    worst = deciding(design)
    for judged in design.judged:
        yield " ".join(filter(None, (judged_words(judged), corner_words(judged) if judged is worst else "")))
