"""Reading a text file of the user's: everything that can be wrong with it before its first word is read."""

from __future__ import annotations

from pathlib import Path

from retrofit.survey.os_remedies import remedy_for
from retrofit.survey.problems import JobFileError, Problem, ProblemKind

SIZE_LIMIT_BYTES = 4 * 1024 * 1024
"""No job file or contact list comes near this; what is larger was chosen by mistake."""

_BOM = b"\xef\xbb\xbf"
_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
_SAVE_AS = "save it again with the encoding 'UTF-8'"


def read_user_bytes(path: Path) -> bytes:
    """Return the bytes of the file at `path`.  Raises `JobFileError` when there is no such file or it is too large."""
    file = str(path)
    try:
        if not path.exists():
            raise _error(ProblemKind.NO_FILE, file, "no file of this name", "an existing file", "check the name")
        if not path.is_file():
            found = "a folder" if path.is_dir() else "something that is not a plain file"
            raise _error(ProblemKind.NOT_A_FILE, file, found, "a text file", "name the file itself")
        with path.open("rb") as stream:
            content = stream.read(SIZE_LIMIT_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        remedy = remedy_for(error) or "check that its disk is there"
        raise _error(ProblemKind.UNREADABLE, file, reason, "a file that may be read", remedy) from None
    if len(content) > SIZE_LIMIT_BYTES:
        allowed = f"{SIZE_LIMIT_BYTES // 2**20} MiB"
        raise _error(
            ProblemKind.TOO_LARGE, file, "a larger file", f"at most {allowed}", "check that it is the file meant"
        )
    return content


def decode_user_text(content: bytes, file: str) -> str:
    """Return `content` as text.  Raises `JobFileError` unless it is UTF-8 without NUL characters.

    A byte order mark before the first character is no part of the text, so what is saved is without it.
    """
    if content.startswith(_UTF16_MARKS):
        raise _error(ProblemKind.NOT_UTF8, file, "UTF-16 text", "UTF-8 text", _SAVE_AS)
    content = content.removeprefix(_BOM)
    if b"\0" in content:
        raise _error(
            ProblemKind.NUL_CHARACTER,
            file,
            "a NUL byte",
            "text",
            f"is this a text file? {_SAVE_AS}",
            _line_at(content, content.index(b"\0")),
        )
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        found = f"the byte 0x{content[error.start]:02X}, which is not UTF-8"
        line = _line_at(content, error.start)
        raise _error(ProblemKind.NOT_UTF8, file, found, "UTF-8 text", _SAVE_AS, line) from None


def _line_at(content: bytes, offset: int) -> int:
    return content.count(b"\n", 0, offset) + 1


def _error(
    kind: ProblemKind, file: str, found: str, allowed: str, remedy: str, line: int | None = None
) -> JobFileError:
    return JobFileError([Problem(kind, file, line, "", found, allowed, remedy)])
