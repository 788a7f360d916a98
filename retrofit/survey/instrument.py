"""The instrument as a whole: who it is, its supplies, and what the owner wants kept."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from retrofit.survey.base import Id, Record, Remark, SevenBit, Ternary, Text, YesNo
from retrofit.survey.bench import Amps, Volts, amps_field, volts_field


class InstrumentKind(StrEnum):
    """What the console belonged to, or still plays."""

    ELECTRONIC = "electronic"
    PIPE = "pipe"
    MIXED = "mixed"
    UNKNOWN = "unknown"


class Instrument(Record):
    """Identity of the instrument; `invented` marks demonstration data."""

    name: Annotated[Text, Field(min_length=1)]
    kind: InstrumentKind = InstrumentKind.UNKNOWN
    maker: Text = "unknown"
    number: Text = "unknown"
    place: Text = "unknown"
    owner: Text = "unknown"
    surveyed_by: Text = "unknown"
    invented: bool = False
    notes: tuple[Remark, ...] = ()


class Polarity(StrEnum):
    """Sign of the supply's live conductor against its return."""

    POSITIVE = "positive"
    NEGATIVE = "negative"
    UNKNOWN = "unknown"


class ChassisPole(StrEnum):
    """Which pole of a supply is joined to the chassis."""

    RETURN = "return"
    LIVE = "live"
    NEITHER = "neither"
    UNKNOWN = "unknown"


class Supply(Record):
    """A supply as found.  Volts and amperes are raw readings at rest, in ordinary playing and with everything on."""

    id: Id
    name: Text = ""
    volts_rest: Volts = volts_field()
    volts_typical: Volts = volts_field()
    volts_full: Volts = volts_field()
    amps_rest: Amps = amps_field()
    amps_typical: Amps = amps_field()
    amps_full: Amps = amps_field()
    polarity: Polarity = Polarity.UNKNOWN
    fuse: Amps = amps_field()
    chassis: ChassisPole = ChassisPole.UNKNOWN
    smoothed: YesNo = Ternary.UNKNOWN
    notes: tuple[Remark, ...] = ()


class Originals(Record):
    """Whether every original circuit stays as it was."""

    preserved: bool = False


class MidiOut(StrEnum):
    """How MIDI leaves the board."""

    DIN = "din"
    USB = "usb"
    BOTH = "both"


class NoteOff(StrEnum):
    """How the end of a note is said; velocity zero keeps running status alive (MIDI 1.0)."""

    VELOCITY_ZERO = "velocity-zero"
    NOTE_OFF = "note-off"


class StoredDescription(StrEnum):
    """How much of the job the controller keeps beside what it does, to be read back from it in later years."""

    WHOLE = "whole"
    WITHOUT_REMARKS = "without-remarks"
    NONE = "none"


class Wanted(Record):
    """What the job asks for: the board, the wire to the sound, and behaviour common to all groups.

    `rail_volts` is what registers and contacts of ours are fed with, where somebody means to feed them with something;
    left out, it is the board's own supply.
    """

    board: Id = "atmega2560"
    rail_volts: Volts = volts_field()
    midi_out: MidiOut = MidiOut.DIN
    isolation_barrier: YesNo = Ternary.UNKNOWN
    velocity: Annotated[int, Field(ge=1, le=127)] = 100
    note_off: NoteOff = NoteOff.VELOCITY_ZERO
    running_status: bool = True
    power_on_wait_s: Annotated[float, Field(ge=0, le=30)] = 2.0
    report_held_at_start: bool = True
    skip_channels: tuple[Annotated[int, Field(ge=1, le=16)], ...] = (10,)
    shoe_interval_ms: Annotated[int, Field(ge=5, le=200)] = 10
    controllers_to_avoid: tuple[SevenBit, ...] = ()
    stored_description: StoredDescription = StoredDescription.WHOLE
    listen_to_stops: bool = False
    panic: Annotated[tuple[Text, ...], Field(max_length=2)] = ()

    @property
    def by_din(self) -> bool:
        """Whether messages leave by DIN, alone or beside USB."""
        return self.midi_out is not MidiOut.USB

    @property
    def by_usb(self) -> bool:
        """Whether messages leave by USB, alone or beside DIN."""
        return self.midi_out is not MidiOut.DIN


class Progress(StrEnum):
    """How far the conversion of a division has come."""

    PLANNED = "planned"
    WIRED = "wired"
    PROVEN = "proven"


class Division(Record):
    """A manual or the pedal (or the console's own controls) with its channel and progress."""

    id: Id
    name: Text = ""
    channel: Annotated[int, Field(ge=1, le=16)] | None = None
    progress: Progress = Progress.PLANNED
    notes: tuple[Remark, ...] = ()
