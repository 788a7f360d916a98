"""Saving atomically: whatever call is interrupted, and however, nothing of the user's is lost."""

from __future__ import annotations

import itertools
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from retrofit.survey.atomic_write import (
    BACKUPS_KEPT,
    ChangedOnDiskError,
    SaveError,
    numbered_backup,
    write_atomically,
)
from retrofit.survey.system_calls import SystemCalls

OLD = "old content\n" * 40
NEW = "new content, which is longer\n" * 40
CALLS = [name for name in vars(SystemCalls) if not name.startswith("_")]


class Killed(BaseException):
    """The process ends here: no handler of the saving code may do anything more."""


class Interrupted(SystemCalls):
    """The real system, until call number `at`: then `happen` decides what becomes of that call."""

    def __init__(self, at: int, happen: Callable[[Callable[..., Any], tuple[Any, ...]], Any]) -> None:
        self.at = at
        self.happen = happen
        self.calls: list[str] = []
        self.dead = False

    def __getattribute__(self, name: str) -> Any:
        real = super().__getattribute__(name)
        return self._counted(name, real) if name in CALLS else real

    def _counted(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any) -> Any:
            if self.dead:
                raise Killed
            self.calls.append(name)
            if len(self.calls) - 1 != self.at:
                return real(*arguments)
            try:
                return self.happen(real, arguments)
            except Killed:
                self.dead = True
                raise

        return call


def fail(_real: Callable[..., Any], _arguments: tuple[Any, ...]) -> Any:
    """The system refuses the call."""
    raise OSError(28, "No space left on device")


def kill_before(_real: Callable[..., Any], _arguments: tuple[Any, ...]) -> Any:
    """The process is killed before the call takes effect."""
    raise Killed


def kill_after(real: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
    """The process is killed when the call has taken effect."""
    real(*arguments)
    raise Killed


def kill_half_way(real: Callable[..., Any], arguments: tuple[Any, ...]) -> Any:
    """The process is killed when half of what the call writes is written."""
    if real.__name__ == "write":
        handle, content = arguments
        real(handle, content[: len(content) // 2])
    raise Killed


class Slow(SystemCalls):
    """A system that takes seven bytes at a time, as it may."""

    def write(self, handle: int, content: bytes) -> int:
        """Write at most seven bytes."""
        return super().write(handle, content[:7])


def folder_with(folder: Path, backups: int) -> Path:
    """Return a job file in `folder` with so many earlier backups."""
    folder.mkdir()
    path = folder / "job.toml"
    path.write_text(OLD, encoding="utf-8")
    for number in range(1, backups + 1):
        numbered_backup(path, number).write_text(f"backup {number}", encoding="utf-8")
    return path


def contents(folder: Path) -> set[str]:
    """Return what the visible files of a folder hold."""
    return {path.read_text(encoding="utf-8") for path in folder.iterdir() if not path.name.startswith(".")}


@pytest.mark.parametrize("backups", [0, 3, BACKUPS_KEPT])
@pytest.mark.parametrize("happen", [fail, kill_before, kill_after, kill_half_way], ids=lambda f: f.__name__)
def test_an_interruption_at_any_call_loses_nothing(
    tmp_path: Path, backups: int, happen: Callable[[Callable[..., Any], tuple[Any, ...]], Any]
) -> None:
    """After each: the old or the new file is there whole under its name, no backup is lost, and saving works again."""
    outcomes = set()
    for at in itertools.count():
        path = folder_with(tmp_path / str(at), backups)
        system = Interrupted(at, happen)
        try:
            write_atomically(path, NEW, OLD.encode(), system)
            outcome = "saved"
        except SaveError:
            outcome = "refused"
        except Killed:
            outcome = "killed"
        outcomes.add(outcome)

        held = path.read_text(encoding="utf-8")
        assert held in (OLD, NEW), system.calls
        earlier = {f"backup {number}" for number in range(1, backups + 1)}
        lost_on_purpose = {f"backup {BACKUPS_KEPT}"} if held == NEW else set()
        assert (earlier | {OLD}) - contents(path.parent) <= lost_on_purpose, system.calls
        if outcome == "refused":
            assert [p.name for p in path.parent.iterdir() if p.name.startswith(".")] == []

        again = "saved again\n"
        write_atomically(path, again, held.encode())
        assert path.read_text(encoding="utf-8") == again
        assert numbered_backup(path, 1).read_text(encoding="utf-8") == held
        newest_first = [numbered_backup(path, number) for number in range(1, BACKUPS_KEPT + 1)]
        ages = [p.read_text(encoding="utf-8") for p in newest_first if p.exists()]
        expected = [held, *([OLD] if held == NEW else []), *(f"backup {n}" for n in range(1, backups + 1))]
        assert ages == expected[:BACKUPS_KEPT], system.calls
        if at >= len(system.calls):
            break

    assert len(system.calls) > 12
    assert {"open_to_read", "open_to_write", "write", "sync", "close", "rename", "sync_folder"} <= set(system.calls)
    assert "saved" in outcomes
    assert ("refused" if happen is fail else "killed") in outcomes


def test_a_save_that_was_not_interrupted_gives_file_and_backup(tmp_path: Path) -> None:
    """The new content stands under the name, the old one under the first backup number, and nothing else is left."""
    path = folder_with(tmp_path / "job", 0)

    write_atomically(path, NEW, OLD.encode())

    assert {p.name: p.read_text(encoding="utf-8") for p in path.parent.iterdir()} == {
        "job.toml": NEW,
        "job.toml.1": OLD,
    }


def test_a_save_without_a_backup_leaves_the_older_ones_alone(tmp_path: Path) -> None:
    """Only the file is another afterwards."""
    path = folder_with(tmp_path / "job", 2)
    before = {n: numbered_backup(path, n).read_text(encoding="utf-8") for n in (1, 2)}

    write_atomically(path, NEW, OLD.encode(), backup=False)

    assert path.read_text(encoding="utf-8") == NEW
    assert {n: numbered_backup(path, n).read_text(encoding="utf-8") for n in (1, 2)} == before
    assert len(list(path.parent.iterdir())) == 3


def test_everything_is_on_the_disk_before_its_name_is_given(tmp_path: Path) -> None:
    """Both files are flushed before a rename shows them, and the folder after the last rename."""
    system = Interrupted(10**6, fail)

    write_atomically(folder_with(tmp_path / "job", 0), NEW, OLD.encode(), system)

    order = [call for call in system.calls if call in ("write", "sync", "rename", "sync_folder")]
    assert order == ["write", "sync", "write", "sync", "rename", "rename", "sync_folder"]


def test_short_writes_are_carried_on(tmp_path: Path) -> None:
    """A system that takes a few bytes at a time still gets the whole file and the whole backup."""
    path = folder_with(tmp_path / "job", 0)

    write_atomically(path, NEW, OLD.encode(), Slow())

    assert path.read_text(encoding="utf-8") == NEW
    assert numbered_backup(path, 1).read_text(encoding="utf-8") == OLD


def test_old_backups_are_numbered_up_and_the_tenth_goes(tmp_path: Path) -> None:
    """Number 1 is the newest; nine are kept."""
    path = folder_with(tmp_path / "job", 0)
    for number in range(12):
        write_atomically(path, f"version {number}", path.read_bytes())

    kept = [numbered_backup(path, number).read_text(encoding="utf-8") for number in range(1, BACKUPS_KEPT + 1)]
    assert kept == [f"version {number}" for number in range(10, 10 - BACKUPS_KEPT, -1)]
    assert not numbered_backup(path, BACKUPS_KEPT + 1).exists()


def test_a_file_changed_meanwhile_is_not_overwritten(tmp_path: Path) -> None:
    """An edit made elsewhere since the file was read is kept, and the message says what to do."""
    path = folder_with(tmp_path / "job", 0)
    path.write_text("somebody else's edit", encoding="utf-8")

    with pytest.raises(ChangedOnDiskError, match="changed meanwhile; read it again"):
        write_atomically(path, NEW, OLD.encode())

    assert contents(path.parent) == {"somebody else's edit"}


def test_a_file_removed_meanwhile_is_told(tmp_path: Path) -> None:
    """A file that is gone is not written as if nothing had happened."""
    path = tmp_path / "job.toml"

    with pytest.raises(ChangedOnDiskError, match="was removed meanwhile"):
        write_atomically(path, NEW, OLD.encode())

    assert list(tmp_path.iterdir()) == []


def test_a_new_file_does_not_replace_another(tmp_path: Path) -> None:
    """Where a file exists already, a new one is refused."""
    path = folder_with(tmp_path / "job", 0)

    with pytest.raises(ChangedOnDiskError, match="exists already"):
        write_atomically(path, NEW, None)

    assert contents(path.parent) == {OLD}


def test_a_new_file_is_written(tmp_path: Path) -> None:
    """A file that was not there needs no backup."""
    path = tmp_path / "job.toml"

    write_atomically(path, NEW, None)

    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]
    assert path.read_text(encoding="utf-8") == NEW


def test_the_same_content_is_not_written_again(tmp_path: Path) -> None:
    """Saving without a change makes no backup."""
    path = folder_with(tmp_path / "job", 0)

    write_atomically(path, OLD, OLD.encode())

    assert [p.name for p in path.parent.iterdir()] == ["job.toml"]


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_the_mode_of_the_file_is_kept(tmp_path: Path, mode: int) -> None:
    """Who may read the file stays as it was, for the file and for its backup."""
    path = folder_with(tmp_path / "job", 0)
    path.chmod(mode)

    write_atomically(path, NEW, OLD.encode())

    assert path.stat().st_mode & 0o777 == mode
    assert numbered_backup(path, 1).stat().st_mode & 0o777 == mode


def test_a_symbolic_link_stays_and_its_target_is_written(tmp_path: Path) -> None:
    """The link still leads to the file that holds the new content."""
    path = folder_with(tmp_path / "job", 0)
    link = tmp_path / "link.toml"
    link.symlink_to(path)

    write_atomically(link, NEW, OLD.encode())

    assert link.is_symlink()
    assert path.read_text(encoding="utf-8") == NEW
    assert numbered_backup(path, 1).read_text(encoding="utf-8") == OLD


def test_a_link_that_leads_to_itself_is_told(tmp_path: Path) -> None:
    """The system's refusal is a message, not a traceback."""
    link = tmp_path / "job.toml"
    link.symlink_to(link)

    with pytest.raises(SaveError, match="symbolic links"):
        write_atomically(link, NEW, None)


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """The message names the file, the system's reason, and the state that the file is in."""
    path = folder_with(tmp_path / "job", 0)

    with pytest.raises(
        SaveError, match=r"job\.toml: not saved, No space left on device; the file is as it was; make room"
    ):
        write_atomically(path, NEW, OLD.encode(), Interrupted(5, fail))


def test_a_failed_last_flush_says_that_the_file_is_saved(tmp_path: Path) -> None:
    """When only the folder could not be flushed the new content is in place, and the message says so."""
    path = folder_with(tmp_path / "job", 0)
    rehearsal = Interrupted(10**6, fail)
    write_atomically(path, NEW, OLD.encode(), rehearsal)
    at = rehearsal.calls.index("sync_folder")
    other = folder_with(tmp_path / "other", 0)

    with pytest.raises(SaveError, match="saved, but not yet safe from a power cut"):
        write_atomically(other, NEW, OLD.encode(), Interrupted(at, fail))

    assert other.read_text(encoding="utf-8") == NEW


def test_every_call_that_touches_a_file_can_be_interrupted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No file is opened, written, renamed or removed but through the object that the tests above interrupt."""
    path = folder_with(tmp_path / "job", 2)
    inside: list[str] = []
    seen: list[tuple[str, bool]] = []

    class Watched(SystemCalls):
        def __getattribute__(self, name: str) -> Any:
            real = super().__getattribute__(name)

            def call(*arguments: Any) -> Any:
                inside.append(name)
                try:
                    return real(*arguments)
                finally:
                    inside.pop()

            return call if name in CALLS else real

    def watch(name: str) -> None:
        real = getattr(os, name)

        def call(*arguments: Any, **named: Any) -> Any:
            seen.append((name, bool(inside)))
            return real(*arguments, **named)

        monkeypatch.setattr(os, name, call)

    for name in ("open", "read", "write", "fsync", "close", "replace", "rename", "unlink", "chmod", "stat", "lstat"):
        watch(name)
    write_atomically(path, NEW, OLD.encode(), Watched())
    monkeypatch.undo()

    assert [name for name, allowed in seen if not allowed] == []
    assert {"open", "read", "write", "fsync", "close", "replace", "chmod"} <= {name for name, _ in seen}
