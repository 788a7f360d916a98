"""The job: one instrument being converted.  This is the whole content of a job file, format 1."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from retrofit.survey.as_found import AsFound
from retrofit.survey.base import Record, Text
from retrofit.survey.contacts import Group
from retrofit.survey.instrument import Division, Instrument, Originals, Supply, Wanted
from retrofit.survey.make_safe import MakeSafe
from retrofit.survey.operations import HandOperation, Rehearsal

FORMAT = 1
"""The number that stands on the first line of a job file."""


class SameLine(Record):
    """Points that are one and the same electrical line, said once; the first named is the one that is wired."""

    points: Annotated[tuple[Text, ...], Field(min_length=2)]
    remark: Text = ""


class Waiver(Record):
    """A finding that the user accepts, with the reason."""

    rule: Text
    subject: Text = "*"
    reason: Annotated[Text, Field(min_length=3)]


class Job(Record):
    """A job file, read and checked.

    `addresses` records where points were placed when they were last accepted, `messages` what they sent then.
    """

    format: Literal[1]
    instrument: Instrument
    originals: Originals = Originals()
    make_safe: MakeSafe = MakeSafe()
    wanted: Wanted = Wanted()
    as_found: AsFound = AsFound()
    supplies: tuple[Supply, ...] = ()
    divisions: Annotated[tuple[Division, ...], Field(min_length=1, max_length=16)]
    groups: Annotated[tuple[Group, ...], Field(min_length=1, max_length=64)]
    same_lines: tuple[SameLine, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    addresses: dict[str, str] = Field(default_factory=dict)
    messages: dict[str, str] = Field(default_factory=dict)
    operations: Annotated[tuple[HandOperation, ...], Field(max_length=512)] = ()
    rehearsals: dict[str, Rehearsal] = Field(default_factory=dict)
