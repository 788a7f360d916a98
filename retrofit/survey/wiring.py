"""Wiring as found, per group: commons, owner of the lines, readings, contacts and cable.  Raw readings only."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from retrofit.survey.base import Id, Record, Ternary, Text, YesNo
from retrofit.survey.bench import (
    AcVolts,
    Amps,
    Metres,
    Ohms,
    Seconds,
    SquareMillimetres,
    Volts,
    amps_field,
    ohms_field,
    unknown,
    volts_field,
)
from retrofit.survey.diode_readings import DiodeTest
from retrofit.survey.readings import DeadReadings, LineReading


class Owner(StrEnum):
    """Who owns the voltage on the lines of a group."""

    ORGAN = "organ"
    US = "us"
    UNKNOWN = "unknown"


class LineState(Record):
    """One of the two states of a line, idle or keyed: volts to return and source resistance, as read."""

    volts: Volts = volts_field()
    source: Ohms = ohms_field()
    ac_volts: AcVolts = volts_field()


class Common(Record):
    """What a run of contacts shares: a bus bar, a return wire or a matrix row.

    `first` and `last` count contacts within the group from 1.  `supply` names the supply that feeds it as found.
    """

    name: Text
    first: Annotated[int, Field(ge=1, le=1024)] = 1
    last: Annotated[int, Field(ge=1, le=1024)] | None = None
    supply: Id | None = None
    to_supply: Ohms = ohms_field()
    can_be_isolated: YesNo = Ternary.UNKNOWN


class DiodeFound(StrEnum):
    """What stands in series with each contact on an existing matrix."""

    NONE = "none"
    SILICON = "silicon"
    SCHOTTKY = "schottky"
    GERMANIUM = "germanium"
    UNKNOWN = "unknown"


class StrobeLevel(StrEnum):
    """The level of a strobe while it is active."""

    HIGH = "high"
    LOW = "low"
    UNKNOWN = "unknown"


class NeighboursShare(StrEnum):
    """What two neighbours in the order of wiring have in common on a keyboard that is scanned."""

    STROBE = "strobe"
    RETURN = "return"
    UNKNOWN = "unknown"


class Strobes(Record):
    """A keyboard that the organ scans, as read with an oscilloscope; a meter shows the mean of such lines.

    `strobes` and `returns` are how many lines there are of each.  `rest` and `active_volts` are the levels of a strobe,
    `idle` and `keyed` those of a return, while its strobe is active, without and with its key; `source` is a return's
    resistance.  `period` is from one strobe of a line to its next, `width` how long it is active.  `lead` is the length
    of our wire from the line to our resistors.
    """

    strobes: Annotated[int, Field(ge=1, le=64)] | None = None
    returns: Annotated[int, Field(ge=1, le=64)] | None = None
    neighbours_share: NeighboursShare = NeighboursShare.UNKNOWN
    active: StrobeLevel = StrobeLevel.UNKNOWN
    rest: Volts = volts_field()
    active_volts: Volts = volts_field()
    idle: Volts = volts_field()
    keyed: Volts = volts_field()
    source: Ohms = ohms_field()
    period: Seconds = Field(default_factory=lambda: unknown("s"))
    width: Seconds = Field(default_factory=lambda: unknown("s"))
    lead: Metres = Field(default_factory=lambda: unknown("m"))


class Wiring(Record):
    """The wiring of one group as found; whatever was not measured is `unknown`.

    `readings` and `dead` are what the meter showed; `idle` and `keyed` are what was concluded of a typical line.
    `diode_readings` are those of an existing diode board, key by key.
    `keyed_current` is what the organ's own load draws through a closed contact.
    `strobes` is set for a keyboard that the organ scans.
    """

    owner: Owner = Owner.UNKNOWN
    commons: tuple[Common, ...] = ()
    idle: LineState = LineState()
    keyed: LineState = LineState()
    keyed_current: Amps = amps_field()
    contact: Id = "unknown"
    contact_resistance: Ohms = ohms_field()
    bounce: Seconds = Field(default_factory=lambda: unknown("s"))
    bounce_strokes: Annotated[int, Field(ge=1, le=10000)] | None = None
    cable_length: Metres = Field(default_factory=lambda: unknown("m"))
    wire_area: SquareMillimetres = Field(default_factory=lambda: unknown("mm²"))
    wire_awg: Annotated[int, Field(ge=10, le=40)] | None = None
    diodes: DiodeFound = DiodeFound.UNKNOWN
    decay_capacitor: YesNo = Ternary.UNKNOWN
    carries_audio: YesNo = Ternary.UNKNOWN
    board_place: Text = "unknown"
    meter_input: Ohms = ohms_field()
    readings: tuple[LineReading, ...] = ()
    dead: DeadReadings = DeadReadings()
    diode_readings: tuple[DiodeTest, ...] = ()
    strobes: Strobes | None = None
