"""Steps of the conversion written down by hand, and which steps have been rehearsed."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated

from pydantic import Field

from retrofit.survey.base import Id, Initials, Record, Text

CONSOLE = "console"
"""The subject of a step that concerns the console as a whole."""


class OperationKind(StrEnum):
    """What is done to the console in one step of the conversion."""

    TAP_LINE = "tap-line"
    RUN_CABLE = "run-cable"
    MOUNT_BOARD = "mount-board"
    FIT_SENSOR = "fit-sensor"
    WIRE_CONTACT = "wire-contact"
    FIT_SUPPLY = "fit-supply"
    PLUG_MIDI = "plug-midi"
    CUT_WIRE = "cut-wire"
    DRILL_HOLE = "drill-hole"
    REMOVE_PART = "remove-part"
    CHANGE_VALUE = "change-value"
    SPLIT_BUS = "split-bus"


NEVER_UNDONE = frozenset(
    {OperationKind.CUT_WIRE, OperationKind.DRILL_HOLE, OperationKind.CHANGE_VALUE, OperationKind.SPLIT_BUS}
)
"""Steps after which the original is no longer there, whatever is done later (common practice, no source)."""


class HandOperation(Record):
    """A step that the plan does not know of: what was done to which group, point, division or the console, and when.

    `inverse` says how it is undone, `seen` what must be seen and `reading` what must be read afterwards; without an
    inverse the step cannot be undone.
    """

    id: Id
    kind: OperationKind
    subject: Text = CONSOLE
    text: Annotated[Text, Field(min_length=3)]
    reason: Text = "unknown"
    tool: Text = "unknown"
    inverse: Text = ""
    seen: Text = "unknown"
    reading: Text = "unknown"
    minutes: Annotated[float, Field(ge=0, le=10_000)] | None = None
    date: date
    initials: Initials


class Rehearsal(Record):
    """A step, or a division's steps, taken out and put in again to see that it can be done."""

    date: date
    initials: Initials
