"""What points send when nothing else is wanted: kinds of message, numbers to choose from, and their bytes."""

from __future__ import annotations

from collections.abc import Collection

from retrofit.midi.controllers import EXPRESSION, GENERAL_PURPOSE, free_controllers
from retrofit.midi.messages import (
    COARSE_BITS,
    FINE_ABOVE,
    PointMessage,
    control_change,
    note_off,
    note_on,
    program_change,
)
from retrofit.survey.contacts import ShoePoint, ShoeSensor
from retrofit.survey.instrument import NoteOff, Wanted
from retrofit.survey.points import PointKind
from retrofit.survey.wishes import Message, MessageKind

USUAL_KIND = {
    PointKind.KEY: MessageKind.NOTE,
    PointKind.PISTON: MessageKind.NOTE,
    PointKind.STOP: MessageKind.CONTROLLER,
    PointKind.SHOE: MessageKind.CONTROLLER,
}
"""A stop is a state that may be sent again at any time, which suits a controller; a piston is pressed like a key."""


def wished_number(message: Message | None) -> tuple[MessageKind, int] | None:
    """Return the kind and number that a point's own message asks for, or None when it asks for none."""
    if message is None:
        return None
    for kind in MessageKind:
        number: int | None = getattr(message, kind.value)
        if number is not None:
            return kind, number
    return None


def control_candidates(kind: MessageKind, avoid: Collection[int]) -> tuple[int, ...]:
    """Return the numbers that a stop or piston may take, the best first."""
    return free_controllers(avoid) if kind is MessageKind.CONTROLLER else tuple(range(128))


def shoe_bits(shoe: ShoePoint | None) -> int:
    """Return how many bits a shoe sends; a roller, and a shoe of steps, has too few positions for more than 7."""
    stepped = shoe is None or shoe.sensor in (ShoeSensor.STEPS, ShoeSensor.LADDER)
    return COARSE_BITS if shoe is None or stepped else shoe.bits


def shoe_candidates(is_roller: bool, avoid: Collection[int], bits: int = COARSE_BITS) -> tuple[int, ...]:
    """Return the controllers that a shoe or roller may take, the best first.

    Expression is for the division's first shoe.  Further shoes, and a crescendo roller always, take the general
    purpose controllers: the standard gives a roller no number, and these change nothing in a receiver by themselves.
    Only numbers below 32 have a fine half.
    """
    numbers = GENERAL_PURPOSE if is_roller else (EXPRESSION, *GENERAL_PURPOSE)
    return tuple(number for number in numbers if number not in avoid and (bits <= COARSE_BITS or number < FINE_ABOVE))


def numbers_from(first: int, kind: MessageKind, avoid: Collection[int]) -> tuple[int, ...]:
    """Return a group's numbers from a wished first one, upward; controllers pass over those that are not free.

    Notes and programs may run past 127: whoever lands there is told so.
    """
    if kind is MessageKind.CONTROLLER:
        return (first, *(number for number in sorted(free_controllers(avoid)) if number > first))
    return tuple(range(first, first + 512))


def encode(kind: MessageKind, channel: int, number: int, wanted: Wanted) -> PointMessage:
    """Return what a point sends: note on and off, controller 127 and 0, or a program with nothing when it goes off.

    Raises `ValueError` when the channel or number is out of range.
    """
    match kind:
        case MessageKind.NOTE:
            on = note_on(channel, number, wanted.velocity)
            silent = wanted.note_off is NoteOff.VELOCITY_ZERO
            return PointMessage(on, note_on(channel, number, 0) if silent else note_off(channel, number))
        case MessageKind.CONTROLLER:
            return PointMessage(control_change(channel, number, 127), control_change(channel, number, 0))
        case MessageKind.PROGRAM:
            return PointMessage(program_change(channel, number), b"")
