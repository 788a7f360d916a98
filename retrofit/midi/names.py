"""Note names: middle C is C4, note 60, so that note 0 is C-1 (MIDI 1.0 fixes 60 as middle C; C4 is one usage)."""

from __future__ import annotations

from retrofit.survey.base import parse_note

_PITCH_CLASSES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


def note_name(number: int) -> str:
    """Return the name of a note number, with sharps; any whole number has one."""
    octave, pitch_class = divmod(number, 12)
    return f"{_PITCH_CLASSES[pitch_class]}{octave - 1}"


def note_number(name: str) -> int:
    """Return the number of a note name; the way back of `note_name`.  Raises `ValueError` when it is none."""
    return parse_note(name)
