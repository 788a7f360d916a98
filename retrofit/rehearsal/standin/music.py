"""Music from a Standard MIDI File as moves of the console's controls."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from retrofit.midi.messages import CONTROL_CHANGE, NOTE_OFF, NOTE_ON
from retrofit.plan.model import ConversionPlan
from retrofit.rehearsal.standin.hands import KeyMove, Move, ShoeMove


class MusicError(ValueError):
    """A file that is no music; the text says what was found and what is allowed."""


@dataclass(frozen=True, slots=True)
class Music:
    """The moves of a piece from time 0, its length, and how many of its messages nothing on this console sends."""

    moves: tuple[Move, ...]
    seconds: float
    not_here: int


def music_of(path: Path, plan: ConversionPlan) -> Music:
    """Read a Standard MIDI File; a message is played by the point that sends it, a shoe's value by the shoe.

    Raises `MusicError` for a file that cannot be read as one.
    """
    import mido  # noqa: PLC0415  # only this needs it

    try:
        file = mido.MidiFile(str(path))
        timed = [(message.time, bytes(message.bytes())) for message in file if not message.is_meta]
    except (OSError, EOFError, ValueError, KeyError, IndexError) as error:
        raise MusicError(f"{path}: {error} found, allowed is a Standard MIDI File of type 0 or 1") from error
    return _music(timed, plan)


def _music(timed: list[tuple[float, bytes]], plan: ConversionPlan) -> Music:
    controls = _controls(plan)
    shoes = {bytes((CONTROL_CHANGE | p.shoe.channel - 1, p.shoe.controller)): p.point.id for p in plan.points if p.shoe}
    moves: list[Move] = []
    now_s, not_here = 0.0, 0
    for after_s, message in timed:
        now_s += after_s
        now_us = round(now_s * 1e6)
        if (control := controls.get(_key(message))) is not None:
            moves.append(KeyMove(now_us, *control))
        elif (shoe := shoes.get(message[:2])) is not None:
            moves.append(ShoeMove(now_us, shoe, message[2] / 127))
        else:
            not_here += 1
    return Music(tuple(moves), now_s, not_here)


def _controls(plan: ConversionPlan) -> dict[bytes, tuple[str, bool]]:
    """Return by message the point that sends it and whether it then goes on."""
    found: dict[bytes, tuple[str, bool]] = {}
    for point in plan.points:
        if point.message is not None and point.message.on and point.point.takes_part:
            found.setdefault(_key(point.message.on), (point.point.id, True))
            if point.message.off:
                found.setdefault(_key(point.message.off), (point.point.id, False))
    return found


def _key(message: bytes) -> bytes:
    """Return what a message is known by: strength does not matter, and a note-on without any is a note-off."""
    kind = message[0] & 0xF0
    if kind not in (NOTE_ON, NOTE_OFF):
        return message
    on = kind == NOTE_ON and message[2] > 0
    return bytes(((NOTE_ON if on else NOTE_OFF) | message[0] & 0x0F, message[1]))
