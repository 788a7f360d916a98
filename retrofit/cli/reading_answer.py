"""What the readings of a line say, in words: class, confidence, contradictions, source, and the next reading."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from math import isinf

from retrofit.circuits.line.as_found_cases import cases_of
from retrofit.circuits.line.classify import Classified, classify
from retrofit.circuits.line.evidence import Evidence
from retrofit.circuits.line.next_reading import Step, next_steps
from retrofit.circuits.line.thevenin import Source, fit_source
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Span
from retrofit.cli.terminal import folded
from retrofit.plan.line_evidence import assumed, line_evidence
from retrofit.survey.contacts import GroupBase
from retrofit.survey.job import Job
from retrofit.survey.readings import State

CAUTION = (
    "caution: one hand only, black clip fixed to the return, a probe with 10 kΩ in its tip; never ohms or diode test "
    "on a live circuit; prove it dead first; mains belongs to licensed people"
)
_LABEL = 13


def answer_lines(job: Job, group: GroupBase, line: str, refused: Collection[Step] = ()) -> list[str]:
    """Return the answer for one line of a group, in lines that fit the terminal."""
    told = (("line", f"{line} of {group.id}"), *answer_rows(job, group, line, refused))
    return [text for label, words in told for text in folded(words, f"{label:<{_LABEL}}", " " * _LABEL)]


def answer_rows(job: Job, group: GroupBase, line: str, refused: Collection[Step] = ()) -> tuple[tuple[str, str], ...]:
    """Return the answer for one line of a group, each part of it under its label."""
    evidence = line_evidence(job, group, line)
    found = classify(evidence)
    return (
        *_class(found),
        *(("impossible", f"{one.code}: {one.words}") for one in found.contradictions),
        *_sources(evidence),
        *(("assumed", words) for words in assumed(group.wiring)),
        *_next(evidence, found, refused),
    )


def _class(found: Classified) -> Iterator[tuple[str, str]]:
    if found.named is None:
        yield "class", f"not known yet ({found.confidence})"
        if found.candidates and not found.contradictions:
            yield "may be", "; ".join(found.candidates)
        if not found.candidates:
            yield "may be", "none of the known classes; check the readings, or two things are on one line"
        return
    yield "class", f"{found.named} ({found.confidence})"
    if found.also:
        yield "and", "; ".join(found.also)
    yield "because", "; ".join(found.reasons)
    for case in cases_of(found.named):
        yield "as found", f"{case.found}: {case.question}" if case.question else case.found


def _sources(evidence: Evidence) -> Iterator[tuple[str, str]]:
    for state in State:
        source = fit_source(evidence, state)
        if source is not None:
            yield state.value, _source_words(source)


def _source_words(source: Source) -> str:
    ohms = f", source {_span(source.ohms, 'Ω')}" if source.ohms else ""
    return _span(source.volts, "V") + ohms + (f"; {source.remark}" if source.remark else "")


def _span(span: Span, unit: str) -> str:
    if isinf(span.greatest) or isinf(span.least):
        return f"{quantity(span.least, unit)} or more"
    return f"{quantity(span.least, unit)} to {quantity(span.greatest, unit)}"


def _next(evidence: Evidence, found: Classified, refused: Collection[Step]) -> Iterator[tuple[str, str]]:
    steps = next_steps(evidence, refused)
    if found.contradictions:
        yield "next", "read again what is impossible; the later reading counts, the earlier one stays on record"
    elif not steps:
        yield "next", "nothing more"
    for number, step in enumerate(steps):
        yield ("next" if number == 0 else "then"), step.words
