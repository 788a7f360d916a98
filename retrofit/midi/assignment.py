"""The result of giving every point its message: messages, channels, and what stood in the way."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from retrofit.midi.messages import PointMessage, ShoeMessage


class NoteCode(StrEnum):
    """What an assignment note is about; all but `continued-on-channel` leave a wish or a point without its message."""

    CONTINUED_ON_CHANNEL = "continued-on-channel"
    CHANNELS_RUN_OUT = "channels-run-out"
    NUMBERS_RUN_OUT = "numbers-run-out"
    OUT_OF_RANGE = "message-number-out-of-range"
    WISH_UNUSED = "message-wish-unused"


@dataclass(frozen=True, slots=True)
class AssignmentNote:
    """A remark on one subject (division, group or point id): code, the number concerned, and the usual three parts."""

    code: NoteCode
    subject: str
    value: int | None
    found: str
    allowed: str
    remedy: str

    @property
    def informs_only(self) -> bool:
        """True when everything has its message and this merely says where."""
        return self.code is NoteCode.CONTINUED_ON_CHANNEL


@dataclass(frozen=True)
class Assignment:
    """Messages by point id, shoes by point id, channels by division id, and notes; points without one send nothing."""

    messages: dict[str, PointMessage] = field(default_factory=dict)
    shoes: dict[str, ShoeMessage] = field(default_factory=dict)
    channels: dict[str, int] = field(default_factory=dict)
    notes: tuple[AssignmentNote, ...] = ()
