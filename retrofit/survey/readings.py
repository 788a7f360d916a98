"""Readings of lines as the meter showed them: dated, initialled, and never overwritten by what is concluded of them."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated

from pydantic import Field

from retrofit.survey.base import Initials, Record, Ternary, Text, YesNo
from retrofit.survey.bench import AcVolts, Hertz, Ohms, Seconds, Volts, ohms_field, unknown, volts_field

LEAVES_MOST = 16
"""Contacts that one key may have."""


class State(StrEnum):
    """The state of the line while it was read."""

    IDLE = "idle"
    KEYED = "keyed"


class Load(StrEnum):
    """What hung on the line while it was read: the meter alone, or a resistor beside it.

    Resistors go from the line to return.  The one to the supply has a word of its own, because it feeds the line.
    """

    METER = "meter"
    MEGOHM = "1M"
    HUNDRED_KILOHM = "100k"
    TEN_KILOHM = "10k"
    TO_SUPPLY = "10k-to-supply"


class LineReading(Record):
    """One reading of one line, which is named by its point id or by the words on its tag."""

    line: Annotated[Text, Field(min_length=1)]
    state: State
    load: Load = Load.METER
    volts: Volts = volts_field()
    ac_volts: AcVolts = volts_field()
    date: date
    initials: Initials


class DeadReadings(Record):
    """What is read or asked once for a group; resistances and diode tests with the power off and nothing pressed.

    `bus_to_supply`: bus to the post that feeds it.  `line_to_return` and `line_to_supply`: the line's load or coil.
    `series`, `diode_forward` and `diode_reverse`: bus to line with the key down.  `leaves`: contacts of one key.
    With the power on: `fall_time` from release until a tenth of the change is left, `frequency` as the meter shows,
    and whether the volts sweep while the control is moved slowly.
    """

    bus_to_supply: Ohms = ohms_field()
    line_to_return: Ohms = ohms_field()
    line_to_supply: Ohms = ohms_field()
    series: Ohms = ohms_field()
    diode_forward: Volts = volts_field()
    diode_reverse: Volts = volts_field()
    leaves: Annotated[int, Field(ge=1, le=LEAVES_MOST)] | None = None
    fall_time: Seconds = Field(default_factory=lambda: unknown("s"))
    frequency: Hertz = Field(default_factory=lambda: unknown("Hz"))
    coupler_before_tap: YesNo = Ternary.UNKNOWN
    switched_by_stop: YesNo = Ternary.UNKNOWN
    steps: YesNo = Ternary.UNKNOWN
    sweeps: YesNo = Ternary.UNKNOWN
    moves_by_itself: YesNo = Ternary.UNKNOWN
