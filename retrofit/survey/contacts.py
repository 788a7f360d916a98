"""The groups of a console: keys, listed contacts (tabs, pistons, studs), shoes and a crescendo roller.

One record per point.  A key group's points follow from its compass; only what differs is written down.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import Field, model_validator

from retrofit.survey.base import Channel, Id, Note, Record, Remark, Text
from retrofit.survey.bench import Volts, volts_field
from retrofit.survey.ladder import Ladder
from retrofit.survey.problems import ProblemKind, RefusedValueError
from retrofit.survey.wiring import Wiring
from retrofit.survey.wishes import GroupWish, Message


class Condition(StrEnum):
    """A point's condition as found."""

    SOUND = "sound"
    DEAD = "dead"
    CIPHERING = "ciphering"
    NOT_FITTED = "not-fitted"
    LEFT_OUT = "left-out"
    UNKNOWN = "unknown"


class Found(Record):
    """What is known of one point at the instrument: condition, where its wire ends, photograph, notes."""

    condition: Condition = Condition.UNKNOWN
    strip: Text = ""
    tag: Text = ""
    wire_colour: Text = ""
    photo: Text = ""
    notes: tuple[Remark, ...] = ()


class KeyPoint(Found):
    """What differs for one key contact: which key, which of its contacts (the first unless named), what was found."""

    note: Note
    contact: Id | None = None
    message: Message | None = None


class Compass(Record):
    """Lowest note and number of keys; `missing` and `extra` notes; or an arbitrary contact-to-note table.

    `order` lists, contact by contact, the note that each contact plays, -1 for a contact that plays none; `count` is
    then the number of those that play one.
    """

    lowest: Note = 36
    count: Annotated[int, Field(ge=1, le=128)]
    missing: tuple[Note, ...] = ()
    extra: tuple[Note, ...] = ()
    order: tuple[Note, ...] = Field(default=(), max_length=256)


class KeyContact(Record):
    """One set of contacts under the keys: second touch, or one half of split leaves, with its own division."""

    id: Id
    name: Text = ""
    division: Id | None = None
    channel: Channel | None = None
    lowest: Note | None = None
    highest: Note | None = None
    transpose: Annotated[int, Field(ge=-60, le=60)] = 0

    def covers(self, note: int) -> bool:
        """Return whether the key of `note` has this contact."""
        return (self.lowest is None or note >= self.lowest) and (self.highest is None or note <= self.highest)


class GroupBase(Record):
    """What every group has: an id, a name, a division, wiring as found and what is wanted."""

    id: Id
    name: Text = ""
    division: Id
    originals_preserved: bool | None = None
    wiring: Wiring = Wiring()
    wanted: GroupWish = GroupWish()
    notes: tuple[Remark, ...] = ()


class KeyGroup(GroupBase):
    """A manual or the pedalboard."""

    kind: Literal["manual", "pedalboard"]
    compass: Compass
    contacts: Annotated[tuple[KeyContact, ...], Field(min_length=1, max_length=16)] = (KeyContact(id="key"),)
    points: tuple[KeyPoint, ...] = ()


class Action(StrEnum):
    """Whether a control stays where it is put or springs back."""

    MAINTAINED = "maintained"
    MOMENTARY = "momentary"


class Rest(StrEnum):
    """The contact's state when the control is off."""

    OPEN = "open"
    CLOSED = "closed"


class ContactPoint(Found):
    """A tab, drawknob, piston or stud."""

    id: Id
    name: Text = ""
    footage: Text = ""
    action: Action | None = None
    rest: Rest = Rest.OPEN
    message: Message | None = None


class ContactGroup(GroupBase):
    """A stop rail, a piston slip or the toe studs, listed one by one."""

    kind: Literal["stops", "pistons", "toe-studs"]
    points: Annotated[tuple[ContactPoint, ...], Field(min_length=1, max_length=512)]


class ShoeSensor(StrEnum):
    """What a shoe moves."""

    POTENTIOMETER = "potentiometer"
    LDR = "ldr"
    STEPS = "steps"
    LADDER = "ladder"


class StepStyle(StrEnum):
    """Progressive contacts add up; selective contacts close one at a time."""

    PROGRESSIVE = "progressive"
    SELECTIVE = "selective"


class CurvePoint(Record):
    """A measured point of a shoe's travel: converter fraction of full scale (0 to 1) and the value wanted (0-127).

    A shoe of 14 bits takes the same points; its values lie between them.
    """

    reading: Annotated[float, Field(ge=0, le=1)]
    value: Annotated[int, Field(ge=0, le=127)]


class ShoePoint(Found):
    """An expression shoe.

    `closed_reading` and `open_reading` are fractions of the converter's full scale with the shoe closed and open;
    where they were not measured the whole span is used and the plan says so.  `bits` is how many are sent: 14 as a pair
    of controllers.  The noise is what the reading wanders by, peak to peak, while the shoe rests: in counts of the
    board's converter, or in volts.
    """

    id: Id
    name: Text = ""
    sensor: ShoeSensor
    closed_reading: Annotated[float, Field(ge=0, le=1)] | None = None
    open_reading: Annotated[float, Field(ge=0, le=1)] | None = None
    curve: Annotated[tuple[CurvePoint, ...], Field(max_length=8)] = ()
    stages: Annotated[int, Field(ge=2, le=64)] | None = None
    style: StepStyle = StepStyle.PROGRESSIVE
    ladder: Ladder | None = None
    bits: Literal[7, 14] = 7
    noise_counts: Annotated[int, Field(ge=0, le=4095)] | None = None
    noise: Volts = volts_field()
    message: Message | None = None

    @model_validator(mode="after")
    def _ladder_belongs_to_ladder(self) -> ShoePoint:
        if (self.sensor is ShoeSensor.LADDER) != (self.ladder is not None):
            found = f"sensor '{self.sensor}' {'without' if self.ladder is None else 'with'} ladder"
            allowed = "a ladder for a shoe whose contacts are read on one channel (sensor 'ladder'), and for no other"
            raise RefusedValueError(ProblemKind.CONTRADICTION, found, allowed)
        return self

    @model_validator(mode="after")
    def _one_noise(self) -> ShoePoint:
        if self.noise_counts is not None and self.noise.known:
            found = f"noise_counts = {self.noise_counts} beside a noise of {self.noise}"
            raise RefusedValueError(ProblemKind.CONTRADICTION, found, "one of the two", "keep the one that was read")
        return self

    @model_validator(mode="after")
    def _stages_belong_to_steps(self) -> ShoePoint:
        if (self.sensor is ShoeSensor.STEPS) != (self.stages is not None):
            found = f"sensor '{self.sensor}' {'without' if self.stages is None else 'with'} stages"
            allowed = "stages for a shoe with stepped contacts (sensor 'steps'), and for no other"
            raise RefusedValueError(ProblemKind.CONTRADICTION, found, allowed)
        return self


class ShoeGroup(GroupBase):
    """Expression shoes that share wiring."""

    kind: Literal["shoes"]
    points: Annotated[tuple[ShoePoint, ...], Field(min_length=1, max_length=8)]


class RollerGroup(GroupBase):
    """A crescendo roller: stages that close one after another."""

    kind: Literal["roller"]
    stages: Annotated[int, Field(ge=2, le=64)]
    message: Message | None = None
    found: Found = Found()


Group = Annotated[KeyGroup | ContactGroup | ShoeGroup | RollerGroup, Field(discriminator="kind")]

ListedGroup = KeyGroup | ContactGroup | ShoeGroup
"""The groups whose points stand in a list."""

ListedPoint = KeyPoint | ContactPoint | ShoePoint


def listed_identity(group: ListedGroup, point: ListedPoint) -> tuple[int | str, ...]:
    """Return what tells a point from the others of its group: its id, or its note and contact."""
    if isinstance(point, ContactPoint | ShoePoint):
        return (point.id,)
    first = group.contacts[0].id if isinstance(group, KeyGroup) else ""
    return point.note, point.contact or first
