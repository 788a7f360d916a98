"""What every record of the job file shares: frozen, closed to unknown keys, and the small words used everywhere."""

from __future__ import annotations

import re
from datetime import date
from enum import StrEnum
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from retrofit.survey.problems import ProblemKind, RefusedValueError, shown

ID_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*$"
"""Ids are lower-case words joined by hyphens: they stand in file names, C identifiers and on tags."""


class Record(BaseModel):
    """Base of all survey records: immutable, and a misspelt key is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Ternary(StrEnum):
    """Yes, no, or honestly not known."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


def _ternary(found: object) -> object:
    return {True: "yes", False: "no"}[found] if isinstance(found, bool) else found


YesNo = Annotated[
    Ternary,
    BeforeValidator(_ternary),
    WithJsonSchema({"anyOf": [{"type": "boolean"}, {"enum": ["yes", "no", "unknown"]}]}),
]


def _check_id(found: str) -> str:
    if not re.fullmatch(ID_PATTERN, found):
        allowed = "lower-case letters, digits and single hyphens, e.g. open-diapason-8"
        raise RefusedValueError(ProblemKind.NOT_UNDERSTOOD, f"the id {shown(found)}", allowed)
    return found


Id = Annotated[
    str,
    Field(max_length=48),
    AfterValidator(_check_id),
    WithJsonSchema({"type": "string", "maxLength": 48, "pattern": ID_PATTERN}),
]

_NOTE_NAME = re.compile(r"^([A-Ga-g])([#♯b♭]?)(-?[0-9]{1,2})$")
_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def parse_note(found: object) -> int:
    """Return the MIDI note number for a number or a name; middle C is `C4`, note 60 (MIDI 1.0).

    Raises `ValueError` for anything else.  The range 0-127 is judged by the plan, which knows what the note is for.
    """
    if isinstance(found, int) and not isinstance(found, bool):
        return found
    words = found.strip() if isinstance(found, str) else ""
    if re.fullmatch(r"-?[0-9]{1,4}", words):
        return int(words)
    match = _NOTE_NAME.fullmatch(words)
    if match is None:
        allowed = "a MIDI note number or a name such as C2 or F#3 (middle C is C4)"
        raise RefusedValueError(ProblemKind.NOT_UNDERSTOOD, shown(found), allowed)
    letter, accidental, octave = match.groups()
    shift = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1}[accidental]
    return 12 * (int(octave) + 1) + _SEMITONES[letter.upper()] + shift


Note = Annotated[
    int,
    BeforeValidator(parse_note),
    Field(ge=-256, le=511),
    WithJsonSchema({"anyOf": [{"type": "integer"}, {"type": "string", "pattern": _NOTE_NAME.pattern}]}),
]
Channel = Annotated[int, Field(ge=1, le=16)]
SevenBit = Annotated[int, Field(ge=0, le=127)]


def _check_text(found: str) -> str:
    if "\0" in found:
        raise RefusedValueError(
            ProblemKind.NUL_CHARACTER, shown(found), "any characters but NUL, which few files can hold"
        )
    return found


_NoNul = AfterValidator(_check_text)
Text = Annotated[str, Field(max_length=400), _NoNul]
"""A user's own words: any characters but NUL; they are escaped wherever they go."""


def _signed(found: str) -> str:
    if not found.strip():
        raise RefusedValueError(ProblemKind.NOT_UNDERSTOOD, f"initials {shown(found)}", "the letters of whoever did it")
    return found


Initials = Annotated[str, Field(min_length=1, max_length=8), _NoNul, AfterValidator(_signed)]
"""Who wrote it, or signs for a step."""


class Remark(Record):
    """A dated, initialled note that stays beside its subject everywhere it appears."""

    date: date
    initials: Initials
    text: Text


def one_or_many(found: Any) -> Any:
    """Let a single table stand where a list of them is expected."""
    return [found] if isinstance(found, dict) else found
