"""A folder of generated files: written again at will, interrupted anywhere, and nobody's work lost."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from retrofit.firmware.output_folder import LIST_NAME, OutputFolderError, write_folder

OLD = {"a.c": b"old a", "b.c": b"same", "gone.c": b"left over"}
NEW = {"a.c": b"new a", "b.c": b"same", "c.c": b"more"}


def content(folder: Path) -> dict[str, bytes]:
    """Return the files of a folder, without the list of what was written."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.name != LIST_NAME}


def test_files_are_written_changed_and_removed(tmp_path: Path) -> None:
    """A second build writes what differs, leaves what is the same and removes what is no longer wanted."""
    folder = tmp_path / "new" / "folder"
    assert write_folder(folder, OLD).written == ("a.c", "b.c", "gone.c")
    outcome = write_folder(folder, NEW)
    assert (outcome.written, outcome.unchanged, outcome.removed) == (("a.c", "c.c"), ("b.c",), ("gone.c",))
    assert content(folder) == NEW


def test_an_unchanged_build_touches_nothing(tmp_path: Path) -> None:
    """Times of change stay, so that a build system sees nothing to do."""
    write_folder(tmp_path, OLD)
    for path in tmp_path.iterdir():
        os.utime(path, ns=(1, 1))
    assert write_folder(tmp_path, OLD).written == ()
    assert {path.stat().st_mtime_ns for path in tmp_path.iterdir()} == {1}


def test_the_list_can_be_checked_by_the_usual_tool(tmp_path: Path) -> None:
    """The list is in the form of GNU coreutils' sha256sum, the name last."""
    write_folder(tmp_path, {"a.c": b"abc"})
    # the digest of "abc" is the first example of FIPS 180-2, appendix B.1
    assert "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  a.c\n" in (
        tmp_path / LIST_NAME
    ).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["notes.txt", "a.c", ".hidden"])
def test_a_folder_with_foreign_files_is_refused(name: str, tmp_path: Path) -> None:
    """Files that no earlier build wrote stay, and nothing is written beside them."""
    (tmp_path / name).write_bytes(b"mine")
    with pytest.raises(OutputFolderError, match=f"'{name}' found, which no earlier build wrote"):
        write_folder(tmp_path, NEW)
    assert content(tmp_path) == {name: b"mine"}


def test_a_shared_folder_may_hold_other_files(tmp_path: Path) -> None:
    """In a shared folder only a name that would be written is in the way."""
    (tmp_path / "notes.txt").write_bytes(b"mine")
    write_folder(tmp_path, OLD, shared=True)
    assert content(tmp_path) == OLD | {"notes.txt": b"mine"}
    (tmp_path / "c.c").write_bytes(b"mine too")
    with pytest.raises(OutputFolderError, match=r"'c\.c' found"):
        write_folder(tmp_path, NEW, shared=True)


def test_files_added_beside_an_earlier_build_stay(tmp_path: Path) -> None:
    """A user's own file in an earlier build's folder is neither refused nor removed."""
    write_folder(tmp_path, OLD)
    (tmp_path / "notes.txt").write_bytes(b"mine")
    write_folder(tmp_path, NEW)
    assert content(tmp_path) == NEW | {"notes.txt": b"mine"}


@pytest.mark.parametrize("name", ["a.c", "b.c", "gone.c"])
def test_an_edited_file_is_neither_replaced_nor_removed(name: str, tmp_path: Path) -> None:
    """An edit of a file that was written is somebody's work: the build is refused as a whole."""
    write_folder(tmp_path, OLD)
    (tmp_path / name).write_bytes(b"edited")
    with pytest.raises(OutputFolderError, match=f"'{name}' edited since the last build"):
        write_folder(tmp_path, NEW)
    assert content(tmp_path) == OLD | {name: b"edited"}


def test_an_edit_that_equals_the_new_content_is_no_conflict(tmp_path: Path) -> None:
    """A file that already says what would be written is left alone."""
    write_folder(tmp_path, OLD)
    (tmp_path / "a.c").write_bytes(NEW["a.c"])
    assert write_folder(tmp_path, NEW).written == ("c.c",)


def test_a_deleted_file_is_written_again(tmp_path: Path) -> None:
    """What was deleted comes back."""
    write_folder(tmp_path, OLD)
    (tmp_path / "a.c").unlink()
    assert write_folder(tmp_path, OLD).written == ("a.c",)


@pytest.mark.parametrize("line", ["../../victim", f"{'0' * 64}  ../victim", f"{'0' * 64}  sub/victim"])
def test_a_damaged_list_is_named_with_its_line(line: str, tmp_path: Path) -> None:
    """A list that names anything but plain files of the folder is not believed."""
    (tmp_path / LIST_NAME).write_text(f"# head\n{line}\n", encoding="utf-8")
    with pytest.raises(OutputFolderError, match=f"{LIST_NAME}:2: "):
        write_folder(tmp_path, NEW)


def test_a_file_where_the_folder_should_be_is_refused(tmp_path: Path) -> None:
    """A plain file of the folder's name is kept."""
    (tmp_path / "x").write_bytes(b"mine")
    with pytest.raises(OutputFolderError, match="a file stands where the folder should be"):
        write_folder(tmp_path / "x", NEW)
    with pytest.raises(OutputFolderError, match="Not a directory"):
        write_folder(tmp_path / "x" / "y", NEW)


class Killed(BaseException):
    """The process ends here."""


CALLS: tuple[tuple[Any, str], ...] = (
    (Path, "open"),
    (Path, "replace"),
    (Path, "unlink"),
    (Path, "mkdir"),
    (os, "fsync"),
)


@contextmanager
def interrupted_at(number: int, error: BaseException) -> Iterator[list[str]]:
    """Raise `error` instead of the call with this number (from 0) among those that change files."""
    done: list[str] = []

    def counted(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **named: Any) -> Any:
            done.append(name)
            if len(done) - 1 == number:
                raise error
            return real(*given, **named)

        return call

    with pytest.MonkeyPatch.context() as patch:
        for owner, name in CALLS:
            patch.setattr(owner, name, counted(name, getattr(owner, name)))
        yield done


def calls_of_a_build(folder: Path) -> int:
    """Return how many calls a build over an older one makes."""
    write_folder(folder, OLD)
    with interrupted_at(-1, Killed()) as done:
        write_folder(folder, NEW)
    return len(done)


def test_a_build_may_end_at_any_call(tmp_path: Path) -> None:
    """Stopped instead of any call, each file is the old one or the new one, and the next build finishes the work."""
    calls = calls_of_a_build(tmp_path / "whole")
    assert calls >= 15
    for number in range(calls):
        folder = tmp_path / str(number)
        write_folder(folder, OLD)
        with interrupted_at(number, Killed()), pytest.raises(Killed):
            write_folder(folder, NEW)
        whole = {name: found for name, found in content(folder).items() if not name.startswith(".")}
        assert all(found in (OLD.get(name), NEW.get(name)) for name, found in whole.items())
        assert set(OLD) & set(NEW) <= set(whole)
        write_folder(folder, NEW)
        assert content(folder) == NEW


def test_a_first_build_may_end_at_any_call(tmp_path: Path) -> None:
    """Stopped in a fresh folder, the next build does not take the remains for somebody else's files."""
    with interrupted_at(-1, Killed()) as done:
        write_folder(tmp_path / "whole", NEW)
    for number in range(len(done)):
        folder = tmp_path / str(number)
        with interrupted_at(number, Killed()), pytest.raises(Killed):
            write_folder(folder, NEW)
        write_folder(folder, NEW)
        assert content(folder) == NEW


def test_a_full_disk_is_told_in_words(tmp_path: Path) -> None:
    """An error of the system names the file, the reason and the remedy."""
    with (
        interrupted_at(2, OSError(28, "No space left on device", "a.c")),
        pytest.raises(OutputFolderError, match=r"a\.c: No space left on device; .* make room"),
    ):
        write_folder(tmp_path, NEW)
