"""A stepped shoe whose contacts are wired with resistors, so that one converter channel reads them all."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field, model_validator

from retrofit.survey.base import Record
from retrofit.survey.bench import Ohms, ohms_field
from retrofit.survey.problems import ProblemKind, RefusedValueError

STAGES_MOST = 31


class LadderForm(StrEnum):
    """What a closed contact does.

    `shorting`: the resistors stand in a string between the line and our return, and a contact shorts its own; on a
    selective shoe it shorts those before its own as well.  `joining`: a contact joins a resistor of its own from the
    line to our return.
    """

    SHORTING = "shorting"
    JOINING = "joining"


class Ladder(Record):
    """Resistors in the order in which their contacts close, or the reading of each position; measured ones count more.

    `to_supply` is the resistor of ours from the supply to the line, `tolerance` that of all resistors (0.01 for 1 %).
    `stage_readings` are fractions of the converter's full scale, one for each contact in the order in which they
    close, before them on a progressive shoe the reading with none closed.  `open_reading` is the reading of a selective
    shoe with none closed, as between two contacts.
    """

    form: LadderForm = LadderForm.SHORTING
    resistors: Annotated[tuple[Ohms, ...], Field(max_length=STAGES_MOST)] = ()
    to_supply: Ohms = ohms_field()
    tolerance: Annotated[float, Field(gt=0, le=0.2)] | None = None
    stage_readings: Annotated[tuple[Annotated[float, Field(ge=0, le=1)], ...], Field(max_length=STAGES_MOST + 1)] = ()
    open_reading: Annotated[float, Field(ge=0, le=1)] | None = None

    @model_validator(mode="after")
    def _two_stages_at_least(self) -> Ladder:
        if max(len(self.resistors), len(self.stage_readings)) < 2:
            found = f"{len(self.resistors)} resistors and {len(self.stage_readings)} readings"
            allowed = "two resistors or two readings at least, one for each contact"
            raise RefusedValueError(ProblemKind.CONTRADICTION, found, allowed, "write what was found of each contact")
        return self
