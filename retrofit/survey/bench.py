"""Values as they are written at a bench: `4k7`, `1M`, `12,4 V`, `-12`, `OL`, `wanders`, `unknown`.

A `Reading` keeps the raw words beside what they were understood to mean, so that a later, better conclusion can
always go back to what the meter showed.  Nothing here guesses: a word that is not understood is an error, and a
reading that was not taken is `unknown`, never a typical value.
"""

from __future__ import annotations

import re
import unicodedata
from enum import StrEnum
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer, WithJsonSchema

from retrofit.survey.problems import ProblemKind, RefusedValueError, shown


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
    "μ": 1e-6,
    "m": 1e-3,
    "c": 1e-2,
    "k": 1e3,
    "K": 1e3,
    "M": 1e6,
    "G": 1e9,
}
_OPEN_WORDS = frozenset({"ol", "-ol", "o.l", "o.l.", "open", "overload"})
_WANDER_WORDS = frozenset({"wanders", "wandering", "drifts", "floats", "floating"})
UNKNOWN_WORDS = frozenset({"", "?", "-", "unknown", "not read", "not measured"})
"""Ways to say that nothing was read."""
_NUMBER = re.compile(
    r"(?P<sign>[+\-−]?) ?(?P<whole>[0-9]{1,15})(?:[.,](?P<part>[0-9]{1,20}))?"
    r"(?:[eE](?P<power>[+\-]?[0-9]{1,3}))? ?(?P<prefix>[pnuμmckKMG]?)"
)
_INFIX = re.compile(r"(?P<sign>[+\-−]?) ?(?P<whole>[0-9]{1,9})(?P<prefix>[pnuμmkKMGRVAΩ])(?P<part>[0-9]{1,9})")
_THOUSANDS = re.compile(r"[+\-−]? ?[1-9][0-9]{0,2},[0-9]{3}(?![0-9]).*")
_UNIT_WORDS: dict[str, tuple[str, ...]] = {
    "V": ("V", "v", "volt", "volts"),
    "Ω": ("Ω", "ohm", "ohms", "Ohm", "Ohms", "R"),
    "A": ("A", "amp", "amps"),
    "s": ("s", "sec"),
    "F": ("F",),
    "Hz": ("Hz", "hz"),
    "m": ("metres", "metre", "meters", "m"),
    "mm²": ("mm2", "sqmm"),
}
_INFIX_UNITS = {"R": "Ω", "Ω": "Ω", "V": "V", "A": "A"}
"""Unit letters that may stand for the decimal point, each only for its own unit."""
_LARGEST = 1e15
_MAY_BE_NEGATIVE = frozenset({"V"})


def parse_reading(text: object, unit: str) -> Reading:
    """Return the reading that `text` describes, in `unit` (V, Ω, A, s, F, Hz, m or mm²).

    `text` is a string as typed at the bench, or a plain TOML number in the base unit.  Point and comma both mark the
    decimals; a comma before exactly three digits could also mean thousands, so it is asked about.  Only volts may be
    negative.  Raises `ValueError` with what is allowed when the words cannot be understood.
    """
    if isinstance(text, Reading):
        return text
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise RefusedValueError(ProblemKind.WRONG_TYPE, shown(text), f"a reading in {unit}, as text or a number")
    if isinstance(text, int | float):
        return _numeric(text, unit)
    words = _plain_characters(text)
    state = _state_word(words)
    if state is not None:
        return Reading(raw=text, state=state, unit=unit)
    return _value(text, _parse_number(_without_unit(words, unit), text, unit), unit)


def _numeric(number: int | float, unit: str) -> Reading:
    if not abs(number) < _LARGEST:
        raise RefusedValueError(
            ProblemKind.NOT_UNDERSTOOD, shown(number), _allowed(unit), "write OL for an open circuit"
        )
    return _value(f"{number}", float(number), unit)


def _value(raw: str, number: float, unit: str) -> Reading:
    if not abs(number) < _LARGEST:
        raise RefusedValueError(ProblemKind.OUT_OF_RANGE, shown(raw), f"less than {_LARGEST:g} {unit}")
    if number < 0 and unit not in _MAY_BE_NEGATIVE:
        raise RefusedValueError(ProblemKind.OUT_OF_RANGE, shown(raw), f"0 {unit} or more", "leave out the minus sign")
    return Reading(raw=raw, state=ReadingState.VALUE, unit=unit, value=number)


def _plain_characters(text: str) -> str:
    """Return `text` with full-width letters, thin spaces and look-alike signs as their plain forms.

    A superscript digit is left alone but for square millimetres: 10² is no way to write 102.
    """
    squares_kept = text.replace("mm²", "mm2")
    if any(unicodedata.category(character) == "No" for character in squares_kept):
        return squares_kept
    return " ".join(unicodedata.normalize("NFKC", squares_kept).split())


def _state_word(words: str) -> ReadingState | None:
    folded = words.casefold()
    if folded in _OPEN_WORDS:
        return ReadingState.OPEN
    if folded in _WANDER_WORDS:
        return ReadingState.WANDERS
    if folded in UNKNOWN_WORDS:
        return ReadingState.UNKNOWN
    return None


def _without_unit(words: str, unit: str) -> str:
    """Strip the unit from the end, leaving a metric prefix where there is one (`330 mV` becomes `330 m`)."""
    for word in sorted(_UNIT_WORDS[unit], key=len, reverse=True):
        if words.endswith(word) and len(words) > len(word):
            return words[: -len(word)].rstrip()
    return words


def _parse_number(words: str, text: str, unit: str) -> float:
    if _THOUSANDS.fullmatch(words):
        remedy = "write thousands without a mark (1234), or the decimals with a point (1.234)"
        found = f"{shown(text)}, where the comma may mean thousands or decimals"
        raise RefusedValueError(ProblemKind.NOT_UNDERSTOOD, found, _allowed(unit), remedy)
    match = _INFIX.fullmatch(words) or _NUMBER.fullmatch(words)
    if match is None or not _mark_fits(match["prefix"], match.re is _INFIX, unit):
        raise RefusedValueError(ProblemKind.NOT_UNDERSTOOD, shown(text), _allowed(unit))
    power = match.groupdict().get("power") or "0"
    size = float(f"{match['whole']}.{match['part'] or '0'}e{power}") * _PREFIXES.get(match["prefix"], 1.0)
    return -size if match["sign"] in ("-", "−") else size


def _mark_fits(mark: str, stands_for_point: bool, unit: str) -> bool:
    """Return whether a prefix, or a unit letter that stands for the decimal point, makes sense in `unit`.

    Centi goes with metres alone.  `4m7` is refused in metres, where it might be 4.7 m or 4.7 mm.
    """
    if unit == "mm²":
        return mark == ""
    if mark == "c":
        return unit == "m"
    if stands_for_point and mark == "m":
        return unit != "m"
    return _INFIX_UNITS.get(mark, unit) == unit


def _allowed(unit: str) -> str:
    return f"a number with an optional prefix and unit (12,4 {unit} or 4k7 or 0.5), OL, wanders or unknown"


def _reading_type(unit: str, example: str, *checks: AfterValidator) -> Any:
    schema = {
        "anyOf": [{"type": "number"}, {"type": "string"}],
        "description": f"a reading in {unit} as typed at the bench, e.g. {example}; also OL, wanders, unknown",
    }
    return Annotated[
        Reading,
        BeforeValidator(lambda text: parse_reading(text, unit)),
        *checks,
        PlainSerializer(lambda reading: reading.raw, return_type=str),
        WithJsonSchema(schema),
    ]


def unknown(unit: str) -> Reading:
    """Return the reading that was never taken."""
    return Reading(raw="unknown", state=ReadingState.UNKNOWN, unit=unit)


def _not_negative(reading: Reading) -> Reading:
    if reading.value is not None and reading.value < 0:
        raise RefusedValueError(
            ProblemKind.OUT_OF_RANGE, shown(reading.raw), "0 V or more, for AC", "leave out the minus sign"
        )
    return reading


Volts = _reading_type("V", "12,4 V")
AcVolts = _reading_type("V", "0,2 V", AfterValidator(_not_negative))
Ohms = _reading_type("Ω", "4k7")
Amps = _reading_type("A", "1.2 A")
Seconds = _reading_type("s", "3,2 ms")
Hertz = _reading_type("Hz", "100 Hz")
Metres = _reading_type("m", "2.5")
SquareMillimetres = _reading_type("mm²", "0.22 mm2")


def volts_field() -> Any:
    """A field holding volts, unknown unless read."""
    return Field(default_factory=lambda: unknown("V"))


def amps_field() -> Any:
    """A field holding amperes, unknown unless read."""
    return Field(default_factory=lambda: unknown("A"))


def ohms_field() -> Any:
    """A field holding ohms, unknown unless read."""
    return Field(default_factory=lambda: unknown("Ω"))
