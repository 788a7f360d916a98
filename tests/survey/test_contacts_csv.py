"""The contact list as CSV: written for a spreadsheet, read back exactly, and its faults told by row and column."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.survey.contacts import ContactGroup, ContactPoint, KeyGroup, ShoeGroup
from retrofit.survey.contacts_csv import contacts_from_csv, contacts_to_csv, load_contacts
from retrofit.survey.load import load_job
from retrofit.survey.problems import JobFileError, ProblemKind
from retrofit.survey.spreadsheet import FORMULA_STARTS
from retrofit.survey.wishes import Message
from tests.survey.places import DEMO, GOOD

ANY_TEXT = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=30)
RISKY_TEXT = st.builds(
    str.__add__, st.text("'=+-@\t\r\n", max_size=3), st.text("=1'\";,\n\r\t ab\u202e", max_size=6)
) | st.sampled_from(["'tis", "''", "'", "=cmd|' /C calc'!A0", "+1", "-1", "@SUM(A1)", " =1", "1/2", "2 2/3'"])


def tabs() -> ContactGroup:
    """Return the tabs of the good job."""
    group = load_job(GOOD).groups[1]
    assert isinstance(group, ContactGroup)
    return group


def keys() -> KeyGroup:
    """Return the keys of the good job."""
    group = load_job(GOOD).groups[0]
    assert isinstance(group, KeyGroup)
    return group


def shoes() -> ShoeGroup:
    """Return the shoes of the good job."""
    group = load_job(GOOD).groups[2]
    assert isinstance(group, ShoeGroup)
    return group


def table(text: str, delimiter: str = ",") -> list[dict[str, str]]:
    """Return the rows as a plain CSV reader sees them."""
    return list(csv.DictReader(io.StringIO(text, newline=""), delimiter=delimiter))


def problems_of(text: str, group: Any) -> list[str]:
    """Return the messages that reading `text` gives."""
    with pytest.raises(JobFileError) as caught:
        contacts_from_csv(text, "list.csv", group)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize("group", [tabs(), keys(), shoes()], ids=lambda g: str(g.id))
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_list_that_was_not_edited_reads_back_as_the_same_group(group: Any, delimiter: str) -> None:
    """Dated notes and a shoe's curve have no column and stay."""
    assert contacts_from_csv(contacts_to_csv(group, delimiter), "list.csv", group) == group


@pytest.mark.parametrize("name", ["gutted_home.toml", "theatre.toml"])
def test_every_group_of_the_demo_jobs_reads_back_the_same(name: str) -> None:
    """Long lists with second touch, studs and shoes too."""
    groups = [g for g in load_job(DEMO / name).groups if isinstance(g, KeyGroup | ContactGroup | ShoeGroup)]

    assert [g.id for g in groups if contacts_from_csv(contacts_to_csv(g), "list.csv", g) != g] == []


def test_the_list_is_plain_csv() -> None:
    """Another reader, that of the standard library, sees heading and values (RFC 4180)."""
    rows = table(contacts_to_csv(tabs()))

    assert [row["id"] for row in rows] == ["vox", "tremulant"]
    assert rows[0]["name"] == 'Vox */ #error "{{"'
    assert rows[0]["rest"] == "open"


def test_a_key_group_lists_every_key_contact() -> None:
    """All 61 keys have a row, filled in where something is known."""
    rows = table(contacts_to_csv(keys()))

    assert [row["note"] for row in rows] == [str(note) for note in range(36, 97)]
    assert [(row["tag"], row["condition"]) for row in rows[:2]] == [("1", "sound"), ("", "unknown")]


def test_what_is_filled_in_for_a_key_becomes_its_point() -> None:
    """A row that says something new is kept, by number or by name; rows that say nothing are not."""
    text = "note;condition;strip\nC#2;ciphering;B\n38;unknown;\n39;;\n"

    group = contacts_from_csv(text, "list.csv", keys())

    assert isinstance(group, KeyGroup)
    assert [(p.note, p.condition, p.strip) for p in group.points] == [(37, "ciphering", "B")]


def test_columns_that_are_left_out_keep_what_the_points_have() -> None:
    """A list of ids and names changes names and nothing else; an empty cell empties its value."""
    before = tabs()
    filled = before.model_copy(update={"points": tuple(p.model_copy(update={"tag": "T"}) for p in before.points)})

    group = contacts_from_csv("id,name\nvox,\ntremulant,Trem\n", "list.csv", filled)

    assert isinstance(group, ContactGroup)
    assert [(p.id, p.name, p.tag) for p in group.points] == [("vox", "", "T"), ("tremulant", "Trem", "T")]
    assert group.points[1].notes == before.points[1].notes


def test_messages_are_read_from_their_columns() -> None:
    """What a point sends can be listed beside it."""
    text = "id,sends_controller,sends_channel\nvox,20,3\ntremulant,,\n"

    group = contacts_from_csv(text, "list.csv", tabs())

    assert isinstance(group, ContactGroup)
    assert [point.message for point in group.points] == [Message(controller=20, channel=3), None]


def test_a_decimal_comma_is_read() -> None:
    """A German spreadsheet writes 0,25 between semicolons."""
    text = "id;sensor;closed_reading;open_reading\nswell;ldr;0,25;0,75\n"

    group = contacts_from_csv(text, "list.csv", shoes())

    assert isinstance(group, ShoeGroup)
    assert (group.points[0].closed_reading, group.points[0].open_reading) == (0.25, 0.75)


@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_any_line_end_and_a_byte_order_mark_are_read(tmp_path: Path, line_end: str) -> None:
    """Files of any system's spreadsheet are read."""
    path = tmp_path / "list.csv"
    path.write_bytes(b"\xef\xbb\xbf" + f"id,name{line_end}vox,Flöte{line_end}{line_end}".encode())

    group = load_contacts(path, tabs())

    assert isinstance(group, ContactGroup)
    assert [(p.id, p.name) for p in group.points] == [("vox", "Flöte")]


@given(
    st.lists(st.tuples(ANY_TEXT | RISKY_TEXT, ANY_TEXT | RISKY_TEXT), min_size=1, max_size=4), st.sampled_from(",;\t")
)
def test_any_words_read_back_exactly(rows: list[tuple[str, str]], delimiter: str) -> None:
    """Every character of every name comes back, whatever a spreadsheet might think of it."""
    points = tuple(ContactPoint(id=f"p-{n}", name=name, tag=tag) for n, (name, tag) in enumerate(rows))
    group = tabs().model_copy(update={"points": points})

    assert contacts_from_csv(contacts_to_csv(group, delimiter), "list.csv", group) == group


@given(ANY_TEXT | RISKY_TEXT)
def test_no_cell_begins_as_a_formula(words: str) -> None:
    """A cell that a spreadsheet might calculate has an apostrophe before it, and no words that print are changed."""
    point = ContactPoint(id="p", name=words)
    (row,) = table(contacts_to_csv(tabs().model_copy(update={"points": (point,)})))

    assert not row["name"].startswith(FORMULA_STARTS)
    if not words.lstrip("'").startswith(FORMULA_STARTS) and words.isprintable() and "\\" not in words:
        assert row["name"] == words


@pytest.mark.parametrize("words", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\n=1", "'=1", "''@x"])
def test_a_formula_is_written_with_an_apostrophe_before_it(words: str) -> None:
    """The starts that are dangerous are those of OWASP's page on CSV injection; apostrophes hide none."""
    point = ContactPoint(id="p", name=words)

    (row,) = table(contacts_to_csv(tabs().model_copy(update={"points": (point,)})))

    assert row["name"] == f"'{words}"


def test_problems_of_a_list_are_told_together_by_row_and_column() -> None:
    """Row and line differ after a cell of two lines; each message names both."""
    text = 'id,name,rest,condition,sends_note\nvox,"two\nlines",opne,,\ntremulant,,,ded,H2\nVox Two,,,,\n'

    messages = problems_of(text, tabs())

    assert [message.split(": found")[0] for message in messages] == [
        "list.csv:2 row 2, column rest",
        "list.csv:4 row 3, column condition",
        "list.csv:4 row 3, column sends_note",
        "list.csv:5 row 4, column id",
    ]
    assert "did you mean 'open'?" in messages[0]
    assert "did you mean 'dead'?" in messages[1]
    assert "a MIDI note number or a name" in messages[2]


def test_a_note_that_the_keyboard_does_not_have_is_told() -> None:
    """A key outside the compass, and a contact that no key has."""
    messages = problems_of("note,contact,tag\n97,,1\n36,second,2\n", keys())

    assert "list.csv:2 row 2, column note: found note 97" in messages[0]
    assert "list.csv:3 row 3, column contact: found 'second'" in messages[1]


def test_the_same_key_twice_is_told_however_it_is_written() -> None:
    """Note 36 and C2 are one key."""
    (message,) = problems_of("note,tag\n36,1\nC2,2\n", keys())

    assert "list.csv:3 row 3, column note" in message
    assert "first in row 2" in message


def test_empty_cells_beyond_the_heading_and_short_rows_are_read() -> None:
    """Spreadsheets add empty cells at the end of some rows and leave them out of others."""
    group = contacts_from_csv("id,name,tag\nvox,Vox,1,,\ntremulant\n", "list.csv", tabs())

    assert isinstance(group, ContactGroup)
    assert [(point.id, point.name, point.tag) for point in group.points] == [("vox", "Vox", "1"), ("tremulant", "", "")]


@pytest.mark.parametrize("text", ["", "\n\n", "   \n"])
def test_an_empty_list_is_told(text: str) -> None:
    """A file without a heading is no contact list."""
    (message,) = problems_of(text, tabs())

    assert "no column 'id'" in message


def test_a_cell_that_never_ends_is_told() -> None:
    """A quote that is opened and not closed is told at its row."""
    with pytest.raises(JobFileError) as caught:
        contacts_from_csv('id,name\nvox,"Vox\ntremulant,Trem\n', "list.csv", tabs())

    (problem,) = caught.value.problems
    assert (problem.kind, problem.line, problem.key) == (ProblemKind.SYNTAX, 2, "row 2")


@given(
    st.text(max_size=60) | st.text("id,name;rest\t\n\r\"'=vox", max_size=60), st.sampled_from([tabs(), keys(), shoes()])
)
def test_any_text_is_a_list_or_gives_problems(text: str, group: Any) -> None:
    """Noise never gives a traceback, and messages always print."""
    try:
        read = contacts_from_csv(text, "list.csv", group)
    except JobFileError as error:
        messages = [str(problem) for problem in error.problems]
    else:
        messages = []
        assert read.id == group.id
    assert [message for message in messages if not message.isprintable()] == []
