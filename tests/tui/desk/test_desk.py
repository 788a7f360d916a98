"""The desk: edits are kept at once, refused ones leave no trace, undo, and a file that somebody else changes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from retrofit.survey.atomic_write import ChangedOnDiskError, SaveError, numbered_backup
from retrofit.survey.load import load_job
from retrofit.survey.new_job import NewCompass, NewJob, new_job_text
from retrofit.survey.problems import JobFileError
from retrofit.survey.save import set_value
from tui.desk.desk import BACKUP_EVERY_S, Desk, ours_beside

NAME = ("instrument", "name")


class Clock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.now_s = 100.0

    def __call__(self) -> float:
        """Return the time that was set."""
        return self.now_s


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Return a job of one short manual."""
    path = tmp_path / "job.toml"
    path.write_text(new_job_text(NewJob("first", manuals=(NewCompass(13),))), encoding="utf-8")
    return path


def named(name: str) -> Any:
    """Return an edit that gives the instrument a name."""
    return lambda document: set_value(document, NAME, name)


def test_an_edit_is_on_disk_when_it_returns(path: Path) -> None:
    """The file reads back as the edited job, and the state says that it is saved."""
    state = Desk(path).edit("name", named("second"))
    assert load_job(path).instrument.name == "second"
    assert state.on_disk
    assert state.title == "second"
    assert state.plan is not None
    assert state.plan.job.instrument.name == "second"


def test_a_refused_edit_leaves_everything_as_it_was(path: Path) -> None:
    """A channel of 17 is refused with its problem; neither file nor history know of it."""
    before = path.read_bytes()
    desk = Desk(path)
    with pytest.raises(JobFileError, match="channel"):
        desk.edit("channel", lambda document: set_value(document, ("divisions", "manual-1", "channel"), 17))
    assert path.read_bytes() == before
    assert desk.state.undoes == ""


def test_a_trial_changes_nothing(path: Path) -> None:
    """What would be wrong is told, for an edit and for a whole text, and nothing is written."""
    before = path.read_bytes()
    desk = Desk(path)
    assert [p.key for p in desk.trial(lambda d: set_value(d, ("wanted", "velocity"), 0))] == ["wanted.velocity"]
    assert desk.trial(named("third")) == ()
    assert desk.trial_text("format = 1") != ()
    assert desk.trial_text(before.decode()) == ()
    assert path.read_bytes() == before


def test_undo_and_redo_go_through_the_edits_and_are_kept(path: Path) -> None:
    """Each step back and forth is on disk, byte for byte, and named; a new edit forgets what was undone."""
    desk, first = Desk(path), path.read_bytes()
    desk.edit("a", named("a"))
    second = path.read_bytes()
    assert desk.edit("b", named("b")).undoes == "b"
    assert desk.undo().redoes == "b"
    assert path.read_bytes() == second
    desk.undo()
    assert path.read_bytes() == first
    assert desk.undo().undoes == ""
    assert desk.redo().title == "a"
    assert desk.edit("c", named("c")).redoes == ""
    assert desk.redo().title == "c"


def test_an_edit_that_changes_nothing_is_no_step(path: Path) -> None:
    """The same name again cannot be undone, because nothing was done."""
    assert Desk(path).edit("name", named("first")).undoes == ""


def test_one_backup_is_kept_of_ten_minutes_of_edits(path: Path) -> None:
    """Of many edits in short order the file before the first stays as the backup; later ones get their own."""
    first, clock = path.read_text(encoding="utf-8"), Clock()
    desk = Desk(path, clock)
    for number in range(20):
        desk.edit("name", named(f"name {number}"))
    assert numbered_backup(path, 1).read_text(encoding="utf-8") == first
    assert not numbered_backup(path, 2).exists()
    before, clock.now_s = path.read_text(encoding="utf-8"), clock.now_s + BACKUP_EVERY_S
    desk.edit("name", named("later"))
    assert numbered_backup(path, 1).read_text(encoding="utf-8") == before
    assert numbered_backup(path, 2).read_text(encoding="utf-8") == first


def test_a_file_changed_by_somebody_else_is_not_written_over(path: Path) -> None:
    """The edit stands in memory and is said not to be saved; taking the other's keeps ours beside."""
    desk = Desk(path)
    path.write_text(path.read_text(encoding="utf-8").replace('"first"', '"theirs"'), encoding="utf-8")
    with pytest.raises(ChangedOnDiskError):
        desk.edit("name", named("ours"))
    assert not desk.state.on_disk
    assert desk.state.title == "ours"
    assert desk.take_theirs().title == "theirs"
    assert desk.state.on_disk
    assert load_job(ours_beside(path)).instrument.name == "ours"


def test_ours_can_be_kept_over_theirs(path: Path) -> None:
    """The other's text stays as the newest backup."""
    desk = Desk(path)
    path.write_text(path.read_text(encoding="utf-8").replace('"first"', '"theirs"'), encoding="utf-8")
    with pytest.raises(ChangedOnDiskError):
        desk.edit("name", named("ours"))
    assert desk.keep_ours().on_disk
    assert load_job(path).instrument.name == "ours"
    assert load_job(numbered_backup(path, 1)).instrument.name == "theirs"


def test_what_could_not_be_written_is_written_by_the_next_save(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk refuses an edit's text; when there is room again, saving writes it."""

    def full(*_: object, **__: object) -> None:
        raise SaveError("the disk is full")

    desk = Desk(path)
    with monkeypatch.context() as disk:
        disk.setattr("tui.desk.desk.write_atomically", full)
        with pytest.raises(SaveError):
            desk.edit("name", named("kept"))
    assert not desk.state.on_disk
    assert desk.save().on_disk
    assert load_job(path).instrument.name == "kept"


def test_a_job_with_problems_is_opened_with_them(path: Path) -> None:
    """It has no plan, its problems are there, and a sound text makes it whole."""
    sound = path.read_text(encoding="utf-8")
    path.write_text(sound.replace('progress = "planned"', 'progress = "begun"'), encoding="utf-8")
    desk = Desk(path)
    assert (desk.state.job, desk.state.plan) == (None, None)
    assert [problem.key for problem in desk.state.problems] == ["divisions.manual-1.progress"]
    assert desk.state.title == "job.toml"
    assert desk.edit_text("mended", lambda text, _: text.replace('"begun"', '"wired"')).problems == ()
    assert desk.undo().problems != ()


def test_what_is_no_text_is_refused(tmp_path: Path) -> None:
    """A file of stray bytes, and one that is not there, are said to be so."""
    (tmp_path / "noise").write_bytes(b"\xff\xfe\x00")
    for name in ("noise", "absent"):
        with pytest.raises(JobFileError):
            Desk(tmp_path / name)
