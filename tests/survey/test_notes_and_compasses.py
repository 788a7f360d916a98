"""Note names and numbers, and the compasses of keyboards."""

from __future__ import annotations

import pretty_midi
import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import pitch

from retrofit.survey.base import parse_note
from retrofit.survey.contacts import KeyGroup
from retrofit.survey.points import group_points, key_contacts
from retrofit.survey.problems import RefusedValueError

LETTERS = "CDEFGAB"


@pytest.mark.parametrize("octave", range(-1, 10))
@pytest.mark.parametrize("letter", LETTERS)
@pytest.mark.parametrize("accidental", ["", "#", "b"])
def test_note_names_are_those_of_two_libraries(letter: str, accidental: str, octave: int) -> None:
    """Source: music21 `Pitch.midi` (within 0-127, outside which it folds), pretty_midi `note_name_to_number`."""
    name = f"{letter}{accidental}{octave}"
    number = parse_note(name)

    assert number == pretty_midi.note_name_to_number(name.replace("b", "!") if accidental == "b" else name)
    if 0 <= number <= 127:
        assert number == pitch.Pitch(letter + accidental.replace("b", "-"), octave=octave).midi


@pytest.mark.parametrize(
    ("name", "number"),
    [("C4", 60), ("A4", 69), ("C-1", 0), ("G9", 127), ("c2", 36), (" F♯3 ", 54), ("B♭3", 58), ("36", 36), (36, 36)],
)
def test_notes_are_named_with_middle_c_as_c4(name: object, number: int) -> None:
    """Middle C is note 60 and A4 is 69 (MIDI 1.0, from memory; music21 and pretty_midi agree on C4 and A4)."""
    assert parse_note(name) == number


@pytest.mark.parametrize("name", ["H2", "C", "C##2", "", "C2x", "２", True, None, 1.5, "C123", [36]])
def test_what_is_no_note_is_refused(name: object) -> None:
    """The refusal tells both ways of writing a note."""
    with pytest.raises(RefusedValueError, match="number or a name such as C2"):
        parse_note(name)


def keyboard(**compass: object) -> KeyGroup:
    """Return a manual with a compass."""
    return KeyGroup.model_validate({"kind": "manual", "id": "great", "division": "great", "compass": compass})


def test_the_compass_of_a_manual() -> None:
    """61 notes, C2 to C7, are notes 36 to 96.  Source: AGO console standard; numbers by music21."""
    notes = key_contacts(keyboard(lowest="C2", count=61))

    assert (notes[0], notes[-1], len(notes)) == (pitch.Pitch("C2").midi, pitch.Pitch("C7").midi, 61)
    assert (notes[0], notes[-1]) == (36, 96)


def test_the_compass_of_a_pedalboard() -> None:
    """32 notes, C2 to G4 as written, are notes 36 to 67.  Source: AGO console standard; numbers by music21."""
    notes = key_contacts(keyboard(lowest="C2", count=32))

    assert (notes[0], notes[-1], len(notes)) == (pitch.Pitch("C2").midi, pitch.Pitch("G4").midi, 32)
    assert (notes[0], notes[-1]) == (36, 67)


def test_missing_and_extra_notes_change_the_compass() -> None:
    """A short octave leaves notes out, and a note beside the compass comes in, in order of pitch."""
    assert key_contacts(keyboard(lowest=36, count=5, missing=[37, "D#2"], extra=[34])) == (34, 36, 38, 40)


def test_an_order_table_is_taken_as_it_stands() -> None:
    """Contacts in an odd order keep it; one that plays nothing keeps its place and is no point."""
    group = keyboard(lowest=36, count=3, order=[38, -1, 36, 37])

    assert key_contacts(group) == (38, -1, 36, 37)
    assert [(p.id, p.position) for p in group_points(group)] == [("great.38", 0), ("great.36", 2), ("great.37", 3)]


def test_further_contacts_of_a_key_add_their_word_to_the_id() -> None:
    """The first contact of a key has the plain id; an entry without a contact speaks of the first."""
    group = KeyGroup.model_validate(
        {
            "kind": "manual",
            "id": "great",
            "division": "great",
            "compass": {"lowest": 36, "count": 2},
            "contacts": [{"id": "first"}, {"id": "second", "lowest": 37}],
            "points": [{"note": 37, "tag": "a"}, {"note": 37, "contact": "second", "tag": "b"}],
        }
    )

    points = list(group_points(group))

    assert [(p.id, p.position, p.found.tag) for p in points] == [
        ("great.36", 0, ""),
        ("great.37", 1, "a"),
        ("great.37.second", 3, "b"),
    ]


@given(st.integers(0, 100), st.integers(1, 28), st.data())
def test_a_compass_holds_what_was_not_left_out(lowest: int, count: int, data: st.DataObject) -> None:
    """Notes are those of the range, less the missing, in order, each once."""
    span = list(range(lowest, lowest + count))
    missing = data.draw(st.lists(st.sampled_from(span), unique=True))

    assert key_contacts(keyboard(lowest=lowest, count=count, missing=missing)) == tuple(
        note for note in span if note not in missing
    )
