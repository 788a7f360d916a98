"""Values as they are written at a bench: `4k7`, `1M`, `12,4 V`, `-12`, `OL`, `wanders`, `unknown`.

A `Reading` keeps the raw words beside what they were understood to mean, so that a later, better conclusion can
always go back to what the meter showed.  Nothing here guesses: a word that is not understood is an error, and a
reading that was not taken is `unknown`, never a typical value.
"""

from __future__ import annotations

import math
import re
from enum import StrEnum
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer, WithJsonSchema


class ReadingState(StrEnum):
    """What kind of answer the meter gave."""

    VALUE = "value"
    OPEN = "open"
    WANDERS = "wanders"
    UNKNOWN = "unknown"


class Reading(BaseModel):
    """One reading: the words as typed, their state and, for a plain value, the number in the base unit."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    raw: str
    state: ReadingState
    unit: str
    value: float | None = None

    @property
    def known(self) -> bool:
        """True when the reading is a number that arithmetic may use."""
        return self.state is ReadingState.VALUE

    def __str__(self) -> str:
        return self.raw


_PREFIXES = {
    "": 1.0,
    "p": 1e-12,
    "n": 1e-9,
    "u": 1e-6,
    "µ": 1e-6,
    "μ": 1e-6,
    "m": 1e-3,
    "k": 1e3,
    "K": 1e3,
    "M": 1e6,
    "G": 1e9,
}
_OPEN_WORDS = frozenset({"ol", "o.l", "o.l.", "open", "overload"})
_WANDER_WORDS = frozenset({"wanders", "wandering", "drifts", "floats", "floating"})
_UNKNOWN_WORDS = frozenset({"", "?", "-", "unknown", "not read", "not measured"})
_NUMBER = re.compile(r"(?P<sign>[+\-−]?)\s*(?P<whole>\d+)(?:[.,](?P<part>\d+))?\s*(?P<prefix>[pnuµμmkKMG]?)\s*$")
_INFIX = re.compile(r"(?P<sign>[+\-−]?)\s*(?P<whole>\d+)(?P<prefix>[pnuµμmkKMGRVΩ])(?P<part>\d+)$")
_UNIT_WORDS: dict[str, tuple[str, ...]] = {
    "V": ("V", "v", "volt", "volts"),
    "Ω": ("Ω", "Ω", "ohm", "ohms", "Ohm", "Ohms", "R"),
    "A": ("A", "amp", "amps"),
    "s": ("s", "sec"),
    "F": ("F",),
    "m": ("metres", "metre", "meters", "m"),
    "mm²": ("mm²", "mm2", "sqmm"),
}


def parse_reading(text: object, unit: str) -> Reading:
    """Return the reading that `text` describes, in `unit` (V, Ω, A, s, F, m or mm²).

    `text` is a string as typed at the bench, or a plain TOML number in the base unit.  Raises `ValueError` with what
    is allowed when the words cannot be understood.
    """
    if isinstance(text, Reading):
        return text
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise ValueError(f"a reading in {unit} is text or a number, found {type(text).__name__}")
    if isinstance(text, int | float):
        return _numeric(text, unit)
    words = text.strip()
    state = _state_word(words)
    if state is not None:
        return Reading(raw=text, state=state, unit=unit)
    number = _parse_number(_without_unit(words, unit))
    if number is None:
        raise ValueError(_not_understood(text, unit))
    return Reading(raw=text, state=ReadingState.VALUE, unit=unit, value=number)


def _numeric(number: int | float, unit: str) -> Reading:
    value = float(number)
    if not math.isfinite(value):
        raise ValueError(f"{number} is no reading in {unit}; write OL for an open circuit or unknown")
    return Reading(raw=f"{number}", state=ReadingState.VALUE, unit=unit, value=value)


def _state_word(words: str) -> ReadingState | None:
    folded = words.casefold()
    if folded in _OPEN_WORDS:
        return ReadingState.OPEN
    if folded in _WANDER_WORDS:
        return ReadingState.WANDERS
    if folded in _UNKNOWN_WORDS:
        return ReadingState.UNKNOWN
    return None


def _without_unit(words: str, unit: str) -> str:
    """Strip the unit from the end, leaving a metric prefix where there is one (`330 mV` becomes `330 m`)."""
    for word in sorted(_UNIT_WORDS[unit], key=len, reverse=True):
        if words.endswith(word) and len(words) > len(word):
            return words[: -len(word)].rstrip()
    return words


def _parse_number(words: str) -> float | None:
    match = _INFIX.match(words) or _NUMBER.match(words)
    if match is None:
        return None
    scale = _PREFIXES.get(match["prefix"], 1.0)
    number = float(f"{match['whole']}.{match['part'] or '0'}") * scale
    return -number if match["sign"] in ("-", "−") else number


def _not_understood(text: str, unit: str) -> str:
    return (
        f"{text!r} is not understood as a reading in {unit}; write a number with an optional prefix and unit "
        f"(12,4 {unit} or 4k7 or -12), OL, wanders or unknown"
    )


def _reading_type(unit: str, example: str) -> Any:
    schema = {
        "anyOf": [{"type": "number"}, {"type": "string"}],
        "description": f"a reading in {unit} as typed at the bench, e.g. {example}; also OL, wanders, unknown",
    }
    return Annotated[
        Reading,
        BeforeValidator(lambda text: parse_reading(text, unit)),
        PlainSerializer(lambda reading: reading.raw, return_type=str),
        WithJsonSchema(schema),
    ]


def unknown(unit: str) -> Reading:
    """Return the reading that was never taken."""
    return Reading(raw="unknown", state=ReadingState.UNKNOWN, unit=unit)


Volts = _reading_type("V", "12,4 V")
Ohms = _reading_type("Ω", "4k7")
Amps = _reading_type("A", "1.2 A")
Seconds = _reading_type("s", "3,2 ms")
Metres = _reading_type("m", "2.5")
SquareMillimetres = _reading_type("mm²", "0.22 mm2")


def volts_field() -> Any:
    """A field holding volts, unknown unless read."""
    return Field(default_factory=lambda: unknown("V"))


def ohms_field() -> Any:
    """A field holding ohms, unknown unless read."""
    return Field(default_factory=lambda: unknown("Ω"))
