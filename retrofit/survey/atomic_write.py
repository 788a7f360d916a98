"""Writing a file of the user's so that an interruption at any moment leaves the old or the new content, whole.

The new content goes to a file beside the old one and is flushed to disk; the old content is kept as a numbered backup
(`job.toml.1` is the newest, `job.toml.9` the oldest); then one rename puts the new file in place.
"""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from retrofit.survey.os_remedies import remedy_for
from retrofit.survey.problems import printable
from retrofit.survey.system_calls import SystemCalls

BACKUPS_KEPT = 9


class SaveError(Exception):
    """A file was not saved; the message says why and in what state the file is."""


class ChangedOnDiskError(SaveError):
    """The file is no longer what it was when it was read."""


def write_atomically(
    path: Path, text: str, read_before: bytes | None, system: SystemCalls | None = None, *, backup: bool = True
) -> None:
    """Replace the file at `path` by `text` in UTF-8, keeping its mode and, unless told otherwise, a numbered backup.

    `read_before` is what the file held when the edit began, None for a file that must not exist yet.  A symbolic link
    is followed.  Raises `ChangedOnDiskError` when the file holds something else by now, and `SaveError` when the system
    refuses; the file is then as it was, unless the message says that only the last flush failed.
    """
    system = system or SystemCalls()
    shown_path = printable(str(path))
    try:
        target = system.resolve(path)
        old = _read_file(target, system)
        _refuse_if_changed(shown_path, old, read_before)
        if old == text.encode("utf-8"):
            return
        _put_in_place(target, text.encode("utf-8"), old, system, backup=backup)
    except OSError as error:
        raise SaveError(_refused(shown_path, error, read_before)) from error
    try:
        system.sync_folder(target.parent)
    except OSError as error:
        reason = error.strerror or error
        raise SaveError(f"{shown_path}: saved, but not yet safe from a power cut, {reason}; save again") from error
    _drop_surplus_backup(target, system)


def _refused(shown_path: str, error: OSError, read_before: bytes | None) -> str:
    """Return what was refused, in what state the file is, and what to do."""
    reason, remedy = error.strerror or error, remedy_for(error)
    said = f"not written, {reason}" if read_before is None else f"not saved, {reason}; the file is as it was"
    return f"{shown_path}: {said}{f'; {remedy}' if remedy else ''}"


def numbered_backup(path: Path, number: int) -> Path:
    """Return the name of a backup of the file at `path`; 1 is the newest."""
    return path.with_name(f"{path.name}.{number}")


def _refuse_if_changed(shown_path: str, old: bytes | None, read_before: bytes | None) -> None:
    if old == read_before:
        return
    change = "was removed" if old is None else "exists already" if read_before is None else "was changed"
    remedy = "choose another name" if read_before is None else "read it again and repeat the edit"
    raise ChangedOnDiskError(f"{shown_path}: not saved, the file {change} meanwhile; {remedy}")


def _put_in_place(target: Path, content: bytes, old: bytes | None, system: SystemCalls, *, backup: bool) -> None:
    new_file, old_copy = _beside(target, "new"), _beside(target, "old")
    try:
        mode = None if old is None else system.mode(target)
        _write_file(new_file, content, mode, system)
        if old is not None and backup:
            _keep_backup(target, old, old_copy, mode, system)
        system.rename(new_file, target)
    except OSError:
        for leftover in (new_file, old_copy):
            with contextlib.suppress(OSError):
                system.remove(leftover)
        raise


def _keep_backup(target: Path, old: bytes, old_copy: Path, mode: int | None, system: SystemCalls) -> None:
    """Keep `old` as backup 1 and move the others up, as far as the first number that is free.

    Nothing is overwritten while a number is free: the surplus one goes only when the save has succeeded.  A backup that
    an interrupted save has already made is not made again.
    """
    if _read_file(numbered_backup(target, 1), system) == old:
        return
    _write_file(old_copy, old, mode, system)
    numbers = range(1, BACKUPS_KEPT + 1)
    free = next((n for n in numbers if not system.exists(numbered_backup(target, n))), BACKUPS_KEPT + 1)
    for number in range(free, 1, -1):
        system.rename(numbered_backup(target, number - 1), numbered_backup(target, number))
    system.rename(old_copy, numbered_backup(target, 1))


def _drop_surplus_backup(target: Path, system: SystemCalls) -> None:
    with contextlib.suppress(OSError):
        surplus = numbered_backup(target, BACKUPS_KEPT + 1)
        if system.exists(surplus):
            system.remove(surplus)


def _beside(target: Path, ending: str) -> Path:
    return target.with_name(f".{target.name}.{os.getpid()}.{ending}")


def _read_file(path: Path, system: SystemCalls) -> bytes | None:
    """Return what the file holds, None when there is none."""
    try:
        handle = system.open_to_read(path)
    except FileNotFoundError:
        return None
    try:
        content = b""
        while piece := system.read(handle):
            content += piece
        return content
    finally:
        system.close(handle)


def _write_file(path: Path, content: bytes, mode: int | None, system: SystemCalls) -> None:
    handle = system.open_to_write(path)
    try:
        while content:
            content = content[system.write(handle, content) :]
        system.sync(handle)
    finally:
        system.close(handle)
    if mode is not None:
        system.change_mode(path, mode)
