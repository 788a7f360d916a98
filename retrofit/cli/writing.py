"""Files that a command makes: written whole or not at all, and left alone when they already say the same."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from retrofit.cli.output import Exit, Stop, talk
from retrofit.survey.atomic_write import SaveError, write_atomically


def write_text(path: Path, text: str) -> bool:
    """Write `text` unless the file holds it already; return whether anything was written.

    What was there before is kept as a numbered backup.  Ends the command when the file cannot be written.
    """
    with files_or_stop(SaveError):
        before = path.read_bytes() if path.exists() else None
        if before == text.encode("utf-8"):
            return False
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(path, text, before)
    return True


def say_written(path: Path, written: bool) -> None:
    """Say one line for a file of a build."""
    talk(f"{'written  ' if written else 'unchanged'} {path}")


def refuse_existing(file: Path) -> None:
    """End the command when there is a file of that name."""
    if file.exists():
        raise Stop(Exit.FILES, f"{file}: found a file of that name; a new name is needed; nothing written")


@contextmanager
def files_or_stop(*errors: type[Exception]) -> Iterator[None]:
    """Turn errors about files, whose words are meant for users, into the end of the command."""
    try:
        yield
    except errors as error:
        raise Stop(Exit.FILES, str(error)) from error
