"""Readings of an existing diode board: one key is held, and the meter's diode test tries a pair of its pins."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import Field, field_validator, model_validator

from retrofit.survey.base import Initials, Note, Record, Text
from retrofit.survey.bench import Reading, Volts
from retrofit.survey.problems import ProblemKind, RefusedValueError, shown

Pin = Annotated[Text, Field(min_length=1)]
"""A pin of the board in the user's own words, such as the number on its edge or the colour of its wire."""


class DiodeTest(Record):
    """One reading in the diode range, power off, with one key held and nothing else.

    `key` is the note held, or the contact's number in its group from 1.  `from_pin` has the meter's positive lead.
    Volts mean that it conducts, OL that it does not.  A later reading of the same key and pins stands for the earlier.
    """

    key: Note
    from_pin: Pin
    to_pin: Pin
    volts: Volts
    date: date
    initials: Initials

    @field_validator("volts")
    @classmethod
    def _not_negative(cls, volts: Reading) -> Reading:
        if volts.value is not None and volts.value < 0:
            allowed, remedy = "0 V or more in the diode range, or OL", "read again in the range marked with a diode"
            raise RefusedValueError(ProblemKind.OUT_OF_RANGE, shown(volts.raw), allowed, remedy)
        return volts

    @model_validator(mode="after")
    def _two_pins(self) -> DiodeTest:
        if pin_words(self.from_pin) == pin_words(self.to_pin):
            found = f"from_pin and to_pin both {shown(self.from_pin)}"
            raise RefusedValueError(ProblemKind.CONTRADICTION, found, "two pins", "name the pin of each lead")
        return self


def pin_words(pin: str) -> str:
    """Return a pin's words with single spaces, so that a stray space makes no other pin."""
    return " ".join(pin.split())
