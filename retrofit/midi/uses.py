"""What a message occupies in the vocabulary of a receiver: a number of one kind on one channel."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.midi.messages import (
    COARSE_BITS,
    CONTROL_CHANGE,
    FINE_ABOVE,
    NOTE_OFF,
    NOTE_ON,
    PROGRAM_CHANGE,
    PointMessage,
    ShoeMessage,
)
from retrofit.survey.wishes import MessageKind

_KINDS = {
    NOTE_ON: MessageKind.NOTE,
    NOTE_OFF: MessageKind.NOTE,
    CONTROL_CHANGE: MessageKind.CONTROLLER,
    PROGRAM_CHANGE: MessageKind.PROGRAM,
}


@dataclass(frozen=True, slots=True, order=True)
class Use:
    """What a message occupies: a note, controller or program number on a channel (1-16)."""

    channel: int
    kind: MessageKind
    number: int


def uses_of_message(message: PointMessage) -> frozenset[Use]:
    """Return what a point's on and off bytes occupy."""
    return frozenset(Use((m[0] & 0x0F) + 1, _KINDS[m[0] & 0xF0], m[1]) for m in (message.on, message.off) if m)


def uses_of_shoe(shoe: ShoeMessage) -> frozenset[Use]:
    """Return what a shoe occupies: its controller, and with more than 7 bits the fine half 32 above it."""
    coarse = Use(shoe.channel, MessageKind.CONTROLLER, shoe.controller)
    if shoe.bits <= COARSE_BITS:
        return frozenset({coarse})
    return frozenset({coarse, Use(shoe.channel, MessageKind.CONTROLLER, shoe.controller + FINE_ABOVE)})
