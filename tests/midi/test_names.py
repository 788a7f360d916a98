"""Note names against two general-purpose music libraries."""

from __future__ import annotations

import pretty_midi
import pytest
from music21 import pitch

from retrofit.midi.names import note_name, note_number


@pytest.mark.parametrize("number", range(128))
def test_names_and_numbers(number: int) -> None:
    """pretty_midi and music21 read each name as the same number, middle C being C4; the way back gives it again."""
    name = note_name(number)
    assert pretty_midi.note_name_to_number(name) == number
    plain = pitch.Pitch(name[:-2] + "1") if number < 12 else pitch.Pitch(name)
    assert plain.midi == number + (24 if number < 12 else 0)
    assert note_number(name) == number


def test_known_names() -> None:
    """The ends of the 61-note compass and middle C (MIDI 1.0: middle C is 60)."""
    assert [note_name(number) for number in (36, 60, 96)] == ["C2", "C4", "C7"]
    assert (note_name(-1), note_number("bb3")) == ("B-2", 58)


def test_a_word_that_is_no_note() -> None:
    """The words of the refusal say what a note looks like."""
    with pytest.raises(ValueError, match="middle C is C4"):
        note_number("H2")
