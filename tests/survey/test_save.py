"""Edits of a job file: what was edited is changed, everything else stays as the user wrote it."""

from __future__ import annotations

import difflib
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.survey.atomic_write import SaveError
from retrofit.survey.contacts import ContactGroup, ContactPoint, KeyGroup, ShoeGroup
from retrofit.survey.instrument import Progress
from retrofit.survey.job import Job
from retrofit.survey.load import load_job, parse_job
from retrofit.survey.problems import JobFileError
from retrofit.survey.save import (
    edit_job,
    edited_text,
    record_addresses,
    record_plan,
    replace_points,
    set_progress,
    set_value,
    text_with_points,
)
from tests.survey.places import DEMO, GOOD

GOOD_TEXT = GOOD.read_text(encoding="utf-8")
ANY_TEXT = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=30)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A copy of the good job."""
    copy = tmp_path / "job.toml"
    copy.write_text(GOOD_TEXT, encoding="utf-8")
    return copy


def changes(before: str, after: str) -> list[str]:
    """Return the lines taken out and put in."""
    return [line for line in difflib.ndiff(before.splitlines(), after.splitlines()) if line[0] in "+-"]


def tabs_of(job: Job) -> ContactGroup:
    """Return the group of tabs of the good job."""
    group = job.groups[1]
    assert isinstance(group, ContactGroup)
    return group


def keys_of(job: Job) -> KeyGroup:
    """Return the keys of the good job."""
    group = job.groups[0]
    assert isinstance(group, KeyGroup)
    return group


def with_points(group: Any, points: list[dict[str, Any]]) -> Any:
    """Return the group with other points."""
    return type(group).model_validate({**dict(group), "points": points})


def test_addresses_are_recorded_beside_the_users_comments(path: Path) -> None:
    """An address that stays keeps its comment, one that goes is taken out, a new one is added at the end."""
    record_addresses(path, {"great.36": "chain register 0 bit 0", "roller.1": "pin 22 (A0)"})

    assert changes(GOOD_TEXT, path.read_text(encoding="utf-8")) == [
        '- "great.37" = "chain register 0 bit 1"',
        '+ "roller.1" = "pin 22 (A0)"',
    ]
    assert (path.parent / "job.toml.1").read_text(encoding="utf-8") == GOOD_TEXT


def test_addresses_are_recorded_in_a_file_that_has_none(path: Path) -> None:
    """The table is made where it is missing."""
    path.write_text(GOOD_TEXT[: GOOD_TEXT.index("[addresses]")], encoding="utf-8")

    record_addresses(path, {"great.36": "converter 0"})

    assert load_job(path).addresses == {"great.36": "converter 0"}


def test_addresses_and_messages_are_recorded_in_one_edit(path: Path) -> None:
    """Both tables are written at once, so that one backup holds the file as it was before either."""
    record_plan(path, {"great.36": "converter 0"}, {"great.36": "note 36 on channel 1"})

    job = load_job(path)
    assert job.addresses == {"great.36": "converter 0"}
    assert job.messages == {"great.36": "note 36 on channel 1"}
    assert sorted(p.name for p in path.parent.iterdir()) == ["job.toml", "job.toml.1"]


def test_recorded_messages_replace_all_earlier_ones(path: Path) -> None:
    """A point that sends nothing any more loses its line, and a line that stays keeps its comment."""
    lines = '[messages]\n"great.36" = "note 36 on channel 2" # tuned\n"great.37" = "note 37 on channel 2"\n'
    path.write_text(GOOD_TEXT + lines, encoding="utf-8")

    record_plan(path, load_job(path).addresses, {"great.36": "note 36 on channel 2"})

    assert changes(GOOD_TEXT + lines, path.read_text(encoding="utf-8")) == ['- "great.37" = "note 37 on channel 2"']


def test_recording_the_same_addresses_writes_nothing(path: Path) -> None:
    """Nothing changed, so there is no backup either."""
    record_addresses(path, load_job(path).addresses)

    assert [p.name for p in path.parent.iterdir()] == ["job.toml"]


def test_a_byte_order_mark_is_left_out_of_what_is_saved(path: Path) -> None:
    """The saved file is plain UTF-8; the backup is the file as it was, mark included."""
    marked = b"\xef\xbb\xbf" + GOOD_TEXT.encode()
    path.write_bytes(marked)
    set_progress(path, "great", Progress.WIRED)
    assert not path.read_bytes().startswith(b"\xef\xbb\xbf")
    assert load_job(path).divisions[0].progress is Progress.WIRED
    assert (path.parent / "job.toml.1").read_bytes() == marked


def test_the_progress_of_a_division_is_set_in_place(path: Path) -> None:
    """One line changes where the division has the key; the other division gets it."""
    set_progress(path, "great", Progress.WIRED)
    set_progress(path, "controls", Progress.PROVEN)

    assert changes(GOOD_TEXT, path.read_text(encoding="utf-8")) == [
        '- progress = "planned"',
        '+ progress = "wired"',
        '+ progress = "proven"',
    ]
    assert [d.progress for d in load_job(path).divisions] == [Progress.WIRED, Progress.PROVEN]


def test_an_unknown_division_is_told_and_nothing_is_written(path: Path) -> None:
    """The nearest id is named."""
    with pytest.raises(SaveError, match="there is no 'graet'; did you mean 'great'"):
        set_progress(path, "graet", Progress.WIRED)

    assert path.read_text(encoding="utf-8") == GOOD_TEXT


def test_an_edit_that_breaks_the_job_is_not_written(path: Path) -> None:
    """A file that would not load again is refused with the load's own problems."""

    def edit(document: Any) -> None:
        set_value(document, ("groups", "great", "division"), "nowhere")

    with pytest.raises(JobFileError, match="'nowhere'"):
        edit_job(path, edit)

    assert path.read_text(encoding="utf-8") == GOOD_TEXT


@pytest.mark.parametrize("text", ["format = 1", "format = ", GOOD_TEXT.replace('name = "test job"', 'name = ""')])
def test_a_broken_file_is_not_edited(path: Path, text: str) -> None:
    """What cannot be loaded is left alone, even where the edit would mend it."""
    path.write_text(text, encoding="utf-8")

    with pytest.raises(JobFileError):
        edit_job(path, lambda document: set_value(document, ("instrument", "name"), "mended"))

    assert path.read_text(encoding="utf-8") == text


def test_an_edit_that_does_not_read_back_is_refused() -> None:
    """If the document with comments and the plain data come apart the text is not handed out."""

    def edit(document: Any) -> None:
        if type(document) is dict:
            document["instrument"]["name"] = "plain"

    with pytest.raises(SaveError, match="would not have read back"):
        edited_text(GOOD_TEXT, "job.toml", edit)


def test_a_value_is_set_inside_tables_that_are_not_there_yet() -> None:
    """Tables on the way are added."""
    text = edited_text(GOOD_TEXT, "job.toml", lambda d: set_value(d, ("wanted", "velocity"), 64))

    assert parse_job(text, "job.toml").wanted.velocity == 64
    assert [line for line in changes(GOOD_TEXT, text) if line.startswith("-")] == []


def test_a_point_that_changes_keeps_its_comments_and_notes() -> None:
    """One value of one tab is changed; the line beside it stays."""
    tabs = tabs_of(parse_job(GOOD_TEXT, "job.toml"))
    points = [point.model_dump() for point in tabs.points]
    points[1]["tag"] = "T7"

    text = text_with_points(GOOD_TEXT, "job.toml", with_points(tabs, points))

    assert changes(GOOD_TEXT, text) == ['+ tag = "T7"']


def test_the_users_own_spelling_of_a_value_stays() -> None:
    """A note written by its name is not rewritten as a number, and row comments stay."""
    keys = keys_of(parse_job(GOOD_TEXT, "job.toml"))
    points = [point.model_dump() for point in keys.points]
    points[0]["condition"] = "ciphering"

    text = text_with_points(GOOD_TEXT, "job.toml", with_points(keys, points))

    assert changes(GOOD_TEXT, text) == [
        '-     { note = "C2", condition = "sound", tag = "1" },   # brown wire',
        '+     { note = "C2", condition = "ciphering", tag = "1" },   # brown wire',
    ]


def test_points_are_added_taken_out_and_put_in_order() -> None:
    """The new order is that of the group, and the comments of a point move with it."""
    tabs = tabs_of(parse_job(GOOD_TEXT, "job.toml"))
    vox, tremulant = (point.model_dump() for point in tabs.points)
    new = {"id": "flute", "name": "Flute", "message": {"controller": 20}}

    text = text_with_points(GOOD_TEXT, "job.toml", with_points(tabs, [tremulant, new, vox]))

    job = parse_job(text, "job.toml")
    assert [point.id for point in tabs_of(job).points] == ["tremulant", "flute", "vox"]
    assert tabs_of(job).points[1].message is not None
    for comment in ("# a loud one", "# said Vox", "# shakes"):
        assert comment in text
    assert text.index("# shakes") < text.index("# said Vox")


def test_a_group_without_points_gets_them() -> None:
    """A key group whose points were never written down has its list made, before its sub-tables."""
    keys = keys_of(parse_job(GOOD_TEXT, "job.toml"))
    bare = text_with_points(GOOD_TEXT, "job.toml", with_points(keys, []))
    assert keys_of(parse_job(bare, "job.toml")).points == ()
    start, end = bare.index("# what was found"), bare.index("[groups.wiring]")

    text = text_with_points(bare[:start] + bare[end:], "job.toml", keys)

    assert keys_of(parse_job(text, "job.toml")).points == keys.points
    assert parse_job(text, "job.toml").groups[0].wiring == keys.wiring


def test_a_key_groups_list_of_tables_can_be_emptied() -> None:
    """Where each key has a table of its own, the last one goes as well as the first."""
    row = text_with_points(GOOD_TEXT, "job.toml", with_points(keys_of(parse_job(GOOD_TEXT, "job.toml")), []))
    text = row.replace("[groups.wiring]", '[[groups.points]]\nnote = 40\ntag = "x"\n\n[groups.wiring]', 1)
    keys = keys_of(parse_job(text, "job.toml"))
    assert len(keys.points) == 1

    emptied = text_with_points(text, "job.toml", with_points(keys, []))

    assert keys_of(parse_job(emptied, "job.toml")).points == ()


def test_a_group_that_is_not_there_is_told() -> None:
    """The nearest id is named."""
    tabs = tabs_of(parse_job(GOOD_TEXT, "job.toml"))

    with pytest.raises(SaveError, match="no such group 'tabz'; did you mean 'tabs'"):
        text_with_points(GOOD_TEXT, "job.toml", tabs.model_copy(update={"id": "tabz"}))


def test_points_of_another_kind_are_refused() -> None:
    """Tabs do not become shoes."""
    job = parse_job(GOOD_TEXT, "job.toml")
    shoes = job.groups[2]
    assert isinstance(shoes, ShoeGroup)

    with pytest.raises(SaveError, match="no such group 'tabs'"):
        text_with_points(GOOD_TEXT, "job.toml", shoes.model_copy(update={"id": "tabs"}))


def test_a_curve_and_windows_line_ends_survive(path: Path) -> None:
    """Replacing points by themselves changes not a byte, line ends included."""
    path.write_bytes(GOOD_TEXT.replace("\n", "\r\n").encode())
    before = path.read_bytes()

    for group in load_job(path).groups[:3]:
        assert isinstance(group, KeyGroup | ContactGroup | ShoeGroup)
        replace_points(path, group)

    assert path.read_bytes() == before


@pytest.mark.parametrize("name", ["gutted_home.toml", "theatre.toml"])
def test_editing_a_demo_job_changes_only_what_was_edited(name: str) -> None:
    """In a long file with every kind of table, one division's progress is one line."""
    text = (DEMO / name).read_text(encoding="utf-8")
    division = parse_job(text, name).divisions[0].id

    edited = edited_text(text, name, lambda d: set_value(d, ("divisions", division, "progress"), "proven"))

    assert [line for line in changes(text, edited) if line.startswith("+")] == ['+ progress = "proven"']
    assert tomllib.loads(edited)["groups"] == tomllib.loads(text)["groups"]


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(["vox", "tremulant", "flute", "oboe", "reed-4"]), ANY_TEXT, ANY_TEXT),
        min_size=1,
        unique_by=lambda row: row[0],
    )
)
def test_any_points_with_any_names_are_saved_unchanged(rows: list[tuple[str, str, str]]) -> None:
    """Whatever the names hold and whatever the order, what is read back is what was saved."""
    tabs = tabs_of(parse_job(GOOD_TEXT, "job.toml"))
    text = GOOD_TEXT[: GOOD_TEXT.index("[[same_lines]]")]
    points = tuple(ContactPoint(id=name, name=words, tag=tag) for name, words, tag in rows)

    saved = text_with_points(text, "job.toml", tabs.model_copy(update={"points": points}))

    assert tabs_of(parse_job(saved, "job.toml")).points == points
