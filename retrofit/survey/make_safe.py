"""What was made sure of before anybody reached into a powered instrument: earth, kind of supply, dated steps."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated

from pydantic import AfterValidator, Field

from retrofit.survey.base import Record, Text
from retrofit.survey.bench import Ohms, ohms_field
from retrofit.survey.problems import ProblemKind, RefusedValueError, shown


class EarthRelation(StrEnum):
    """Whether the chassis is joined to the protective earth of the mains plug."""

    JOINED = "joined"
    APART = "apart"
    UNKNOWN = "unknown"


class SupplyKind(StrEnum):
    """Whether the instrument's low-voltage supplies are isolated from the mains."""

    ISOLATED = "isolated"
    NOT_ISOLATED = "not-isolated"
    UNKNOWN = "unknown"


class SafeStep(StrEnum):
    """A step that is taken, and signed, before anything is touched.

    `other-feeds-found`: blower, amplifier, lamps and tremulant may have mains of their own.  `proved-dead`: with a
    meter that was itself proved before and after.  `console-steady`: it cannot tip with pedalboard and bench out.
    """

    MAINS_UNPLUGGED = "mains-unplugged"
    OTHER_FEEDS_FOUND = "other-feeds-found"
    PROVED_DEAD = "proved-dead"
    CAPACITORS_DISCHARGED = "capacitors-discharged"
    FUSES_AS_FOUND = "fuses-as-found"
    CONSOLE_STEADY = "console-steady"
    LICENSED_PERSON_ASKED = "licensed-person-asked"


def _signed(found: str) -> str:
    if "\0" in found or not found.strip():
        allowed = "the letters of whoever took the step"
        raise RefusedValueError(ProblemKind.NOT_UNDERSTOOD, f"initials {shown(found)}", allowed)
    return found


class Tick(Record):
    """A step that was taken: by whom, and when."""

    step: SafeStep
    date: date
    initials: Annotated[str, Field(min_length=1, max_length=8), AfterValidator(_signed)]
    remark: Text = ""


class MakeSafe(Record):
    """The make-safe record of a job.  `earth_reading` is chassis to earth pin, in ohms, the plug out of the wall."""

    chassis_to_earth: EarthRelation = EarthRelation.UNKNOWN
    earth_reading: Ohms = ohms_field()
    supply_kind: SupplyKind = SupplyKind.UNKNOWN
    ticks: tuple[Tick, ...] = ()

    @property
    def missing_steps(self) -> tuple[SafeStep, ...]:
        """The steps that nobody has signed, in the order in which they are taken."""
        taken = {tick.step for tick in self.ticks}
        return tuple(step for step in SafeStep if step not in taken)
