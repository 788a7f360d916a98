"""A folder of generated files that can be written again and again without losing anybody's work.

The folder keeps a list of what was written and of its contents.  A file that is not on the list is somebody else's
and is never touched; a file on the list that was edited since is not overwritten.  The list is written first, naming
the old contents and the new ones, so that a build that was interrupted at any point can be run again.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

LIST_NAME = "written-files.txt"
_LIST_LINE = re.compile(r"([0-9a-f]{64})  ([A-Za-z0-9_][A-Za-z0-9_.-]*)")
_LIST_HEAD = "# What the conversion planner wrote here: SHA-256 and name.  Needed to write this folder again.\n"

Contents = dict[str, set[str]]
"""File name to the digests of the contents that were or will be written under it."""


class OutputFolderError(Exception):
    """The folder cannot be written; nothing of it was changed, unless the message says that writing failed."""


@dataclass(frozen=True, slots=True)
class Written:
    """What became of the files of one build, by name, sorted."""

    written: tuple[str, ...]
    unchanged: tuple[str, ...]
    removed: tuple[str, ...]


def write_folder(folder: Path, files: Mapping[str, bytes], *, shared: bool = False) -> Written:
    """Make `folder` hold `files`, replacing only what differs and removing only what an earlier build left.

    Each file is replaced in one step.  Raises `OutputFolderError` before anything is changed when the folder holds
    files that were not written by an earlier build, or that were edited since.  A `shared` folder may hold other
    files from the start, as long as none of them has a name that is written.
    """
    try:
        earlier = _read_list(folder)
        _refuse_foreign(folder, earlier, files, shared)
        _refuse_edited(folder, earlier, files)
        return _write(folder, earlier, files)
    except OSError as error:
        place = error.filename or folder
        raise OutputFolderError(
            f"{place}: {error.strerror or error}; a folder that can be written is needed; "
            "make room or give another folder, then run the build again"
        ) from error


def _write(folder: Path, earlier: Contents, files: Mapping[str, bytes]) -> Written:
    written = [name for name in sorted(files) if _digest_of(folder / name) != _digest(files[name])]
    stale = [name for name in sorted(earlier) if name not in files and (folder / name).exists()]
    new = {name: {_digest(content)} for name, content in files.items()}
    folder.mkdir(parents=True, exist_ok=True)
    if written or stale:
        _replace(folder / LIST_NAME, _list_text(_joined(earlier, new)))
    for name in written:
        _replace(folder / name, files[name])
    for name in stale:
        (folder / name).unlink()
    if _digest_of(folder / LIST_NAME) != _digest(_list_text(new)):
        _replace(folder / LIST_NAME, _list_text(new))
    return Written(tuple(written), tuple(sorted(set(files) - set(written))), tuple(stale))


def _refuse_foreign(folder: Path, earlier: Contents, files: Mapping[str, bytes], shared: bool) -> None:
    if not folder.exists():
        return
    if not folder.is_dir():
        raise OutputFolderError(f"{folder}: a file stands where the folder should be; give another folder")
    found = {entry.name for entry in folder.iterdir()} - {LIST_NAME, *map(_part_name, [LIST_NAME, *files, *earlier])}
    foreign = found - set(earlier)
    in_the_way = foreign & set(files) if earlier or shared else foreign
    if in_the_way:
        raise OutputFolderError(
            f"{folder}: {_some(in_the_way)} found, which no earlier build wrote; only an empty folder or an earlier "
            "build is written to; move the files away or give another folder"
        )


def _refuse_edited(folder: Path, earlier: Contents, files: Mapping[str, bytes]) -> None:
    wanted = {name: {_digest(content)} for name, content in files.items()}
    known = {name: digests | wanted.get(name, set()) | {None} for name, digests in earlier.items()}
    edited = {name for name, digests in known.items() if _digest_of(folder / name) not in digests}
    if edited:
        raise OutputFolderError(
            f"{folder}: {_some(edited)} edited since the last build; only files as they were written are replaced; "
            "rename or delete the edited file, or give another folder"
        )


def _some(names: set[str]) -> str:
    first, *rest = sorted(names)
    return f"{first!r}" + (f" and {len(rest)} more" if rest else "")


def _read_list(folder: Path) -> Contents:
    path = folder / LIST_NAME
    if not path.exists():
        return {}
    contents: Contents = {}
    lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
    for number, line in enumerate(lines, start=1):
        if line.startswith("#"):
            continue
        match = _LIST_LINE.fullmatch(line)
        if match is None:
            raise OutputFolderError(
                f"{path}:{number}: {line[:40]!r} found; each line is a SHA-256, two spaces and a plain file name; "
                "give another folder, or delete this one if nothing in it is needed"
            )
        contents.setdefault(match[2], set()).add(match[1])
    return contents


def _list_text(contents: Contents) -> bytes:
    lines = [f"{digest}  {name}\n" for name in sorted(contents) for digest in sorted(contents[name])]
    return (_LIST_HEAD + "".join(lines)).encode()


def _joined(first: Contents, second: Contents) -> Contents:
    return {name: first.get(name, set()) | second.get(name, set()) for name in first | second}


def _digest(content: bytes) -> str:
    return sha256(content).hexdigest()


def _digest_of(path: Path) -> str | None:
    return _digest(path.read_bytes()) if path.exists() else None


def _part_name(name: str) -> str:
    return f".{name}.part"


def _replace(path: Path, content: bytes) -> None:
    """Give `path` new content in one step: under the name there is always the old file or the new one, whole."""
    part = path.with_name(_part_name(path.name))
    with part.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
