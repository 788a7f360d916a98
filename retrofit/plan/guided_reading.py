"""Readings asked for one by one: what a step wants to know, how each answer is written down, and where it goes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from retrofit.circuits.line.next_reading import Step
from retrofit.circuits.quantity import quantity
from retrofit.survey.bench import UNKNOWN_WORDS, ReadingState, parse_reading
from retrofit.survey.problems import ProblemKind, RefusedValueError, shown
from retrofit.survey.readings import LEAVES_MOST, Load, State
from retrofit.survey.save import Edit, set_value, with_reading

UNKNOWN = "unknown"
OTHER_LINE, _DIODE = "other-line", "diode"
_COUNTED = "leaves"
"""The one that is a whole number in the file."""


@dataclass(frozen=True, slots=True)
class Question:
    """One answer that a step wants: the field that it is written to, its words, and the unit of a meter's reading.

    `unit` is empty where no meter answers: a line's name, a number of contacts, yes or no.
    """

    name: str
    words: str
    unit: str = ""


_VOLTS, _AC_VOLTS = Question("volts", "DC volts", "V"), Question("ac_volts", "AC volts", "V")
_QUESTIONS = {
    OTHER_LINE: (Question("line", "Which line"), Question("volts", "DC volts, keyed", "V")),
    _DIODE: (
        Question("diode_forward", "volts, red on the bus", "V"),
        Question("diode_reverse", "volts, red on the line", "V"),
    ),
}
_UNITS = {
    "bus_to_supply": "Ω",
    "line_to_return": "Ω",
    "line_to_supply": "Ω",
    "series": "Ω",
    "fall_time": "s",
    "frequency": "Hz",
}


@dataclass(frozen=True, slots=True)
class Signed:
    """Of which line of which group the answers are, on which day, and who gives them."""

    group: str
    line: str
    day: date
    initials: str


def questions(step: Step) -> tuple[Question, ...]:
    """Return what a step asks for, in the order in which it is read."""
    if step.load is Load.METER:
        return _VOLTS, _AC_VOLTS
    if step.load is not None:
        return (_VOLTS,)
    alone = Question(step.key, step.key.replace("_", " "), _UNITS.get(step.key, ""))
    return _QUESTIONS.get(step.key, (alone,))


def answered(signed: Signed, step: Step, answers: Mapping[str, str]) -> Edit:
    """Return the edit that writes the answers of a step (by name, as typed) into a job."""
    by = {"date": signed.day, "initials": signed.initials}
    if step.state is not None and step.load is not None:
        fields = {"line": signed.line, "state": step.state.value, "load": step.load.value, **answers, **by}
        return with_reading(signed.group, fields)
    if step.key == OTHER_LINE:
        return with_reading(signed.group, {"state": State.KEYED.value, **answers, **by})
    return read_once(signed.group, answers)


def read_once(group: str, answers: Mapping[str, str]) -> Edit:
    """Return the edit that writes what is read once for a group."""

    def edit(document: Any) -> None:
        for name, answer in answers.items():
            value = int(answer) if name == _COUNTED and answer.isdecimal() else answer
            set_value(document, ("groups", group, "wiring", "dead", name), value)

    return edit


def understood(question: Question, text: str) -> str:
    """Return what an answer is understood to mean, in words; raises `RefusedValueError` when it cannot be."""
    if question.unit:
        return _reading_words(question, text)
    if question.name == "line":
        return f"the line {text.strip()}" if text.strip() else "not read"
    if question.name == _COUNTED:
        return _count_words(text)
    return _yes_no_words(text)


def _reading_words(question: Question, text: str) -> str:
    reading = parse_reading(text.strip(), question.unit)
    if question == _AC_VOLTS and reading.value is not None and reading.value < 0:
        found, allowed = shown(text), "0 V or more, for AC"
        raise RefusedValueError(ProblemKind.OUT_OF_RANGE, found, allowed, "leave out the minus sign")
    if reading.value is not None:
        return quantity(reading.value, question.unit)
    return _STATE_WORDS[reading.state]


_STATE_WORDS = {
    ReadingState.OPEN: "OL: beyond the meter's range, or an open circuit",
    ReadingState.WANDERS: "it wanders: the figure does not come to rest",
    ReadingState.UNKNOWN: "not read",
}


def _count_words(text: str) -> str:
    words = text.strip()
    if not words or is_unknown(words):
        return "not counted"
    if words.isascii() and words.isdecimal() and 1 <= int(words[:9]) <= LEAVES_MOST:
        return f"{int(words)} in all"
    raise RefusedValueError(ProblemKind.OUT_OF_RANGE, shown(words), f"a whole number from 1 to {LEAVES_MOST}")


def _yes_no_words(text: str) -> str:
    words = text.strip()
    if words in ("yes", "no"):
        return words
    if is_unknown(words):
        return "not known"
    raise RefusedValueError(ProblemKind.UNKNOWN_WORD, shown(words), "yes, no or unknown")


def is_unknown(text: str) -> bool:
    """Return whether an answer says that nothing was read, as an empty one does."""
    return text.strip().casefold() in UNKNOWN_WORDS
