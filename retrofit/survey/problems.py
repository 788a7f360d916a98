"""What can be wrong with a user's file, said so that he can put it right: where, what was found, what is allowed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class ProblemKind(StrEnum):
    """Every kind of problem that a job file or a contact list can have."""

    NO_FILE = "no-file"
    NOT_A_FILE = "not-a-file"
    UNREADABLE = "unreadable"
    TOO_LARGE = "too-large"
    NOT_UTF8 = "not-utf8"
    NUL_CHARACTER = "nul-character"
    SYNTAX = "syntax"
    NO_FORMAT = "no-format"
    WRONG_FORMAT = "wrong-format"
    MISSING_KEY = "missing-key"
    UNKNOWN_KEY = "unknown-key"
    UNKNOWN_WORD = "unknown-word"
    UNKNOWN_KIND = "unknown-kind"
    WRONG_TYPE = "wrong-type"
    OUT_OF_RANGE = "out-of-range"
    WRONG_LENGTH = "wrong-length"
    NOT_UNDERSTOOD = "not-understood"
    CONTRADICTION = "contradiction"
    DUPLICATE_ID = "duplicate-id"
    UNKNOWN_DIVISION = "unknown-division"
    UNKNOWN_SUPPLY = "unknown-supply"
    UNKNOWN_POINT = "unknown-point"
    UNKNOWN_SUBJECT = "unknown-subject"
    NAME_TAKEN = "name-taken"
    LINE_SAID_TWICE = "line-said-twice"
    MISSING_NOTE_OUTSIDE = "missing-note-outside"
    EXTRA_NOTE_INSIDE = "extra-note-inside"
    ORDER_REPEATS_NOTE = "order-repeats-note"
    ORDER_DISAGREES = "order-disagrees"
    NO_SUCH_KEY = "no-such-key"
    NO_SUCH_CONTACT = "no-such-contact"
    STALE_ADDRESS = "stale-address"
    STALE_MESSAGE = "stale-message"
    RANGE_BACKWARDS = "range-backwards"
    BEYOND_CONTACTS = "beyond-contacts"
    POLARITY_DISAGREES = "polarity-disagrees"
    UNKNOWN_LINE = "unknown-line"
    AS_FOUND_CHANGED = "as-found-changed"
    UNKNOWN_COLUMN = "unknown-column"
    MISSING_COLUMN = "missing-column"
    DUPLICATE_COLUMN = "duplicate-column"
    ROW_TOO_LONG = "row-too-long"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in one file.

    `line` counts from 1 and is None when it is not known for certain.  `key` is the dotted key (members of a list by
    their id, else `#1` for the first) or the row and column of a contact list.  `found`, `allowed` and `remedy` are
    parts of a sentence.
    """

    kind: ProblemKind
    file: str
    line: int | None
    key: str
    found: str
    allowed: str
    remedy: str = ""

    def __str__(self) -> str:
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        subject = f"{place} {_cut(self.key, 160)}" if self.key else place
        remedy = f"; {self.remedy}" if self.remedy else ""
        return printable(f"{subject}: found {self.found}; allowed {self.allowed}{remedy}")


class JobFileError(Exception):
    """A file of the user's cannot be used; `problems` holds everything that is wrong with it."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class RefusedValueError(ValueError):
    """A value is refused by a check of ours: what was found, what is allowed, and what to do about it."""

    def __init__(self, kind: ProblemKind, found: str, allowed: str, remedy: str = "") -> None:
        self.kind = kind
        self.found = found
        self.allowed = allowed
        self.remedy = remedy
        super().__init__(f"found {found}; allowed {allowed}" + (f"; {remedy}" if remedy else ""))


def printable(text: str) -> str:
    """Return `text` with every character that does not print (controls, direction marks) written as an escape."""
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def shown(value: object) -> str:
    """Return a short, printable description of a value from the file."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return _cut(repr(value))
        case dict():
            return "a table"
        case list() | tuple():
            return f"a list of {len(value)}"
        case int() if abs(value) >= 10**60:
            return "a whole number of more than 60 digits"
        case _:
            return _cut(printable(str(value)))


def _cut(text: str, longest: int = 60) -> str:
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def did_you_mean(word: object, known: Iterable[str]) -> str:
    """Return `did you mean 'organ'?` for the nearest known word, or nothing when none is near."""
    near = nearest(word, known) if isinstance(word, str) else None
    return f"did you mean {near!r}?" if near is not None else ""


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the nearest known word, or None when none is near."""
    import difflib  # noqa: PLC0415 - costs a few milliseconds and is needed only when something is wrong

    folded = {name.casefold(): name for name in known}
    near = difflib.get_close_matches(word[:100].strip().casefold(), folded, n=1, cutoff=0.6)
    return folded[near[0]] if near else None


def listed(words: Iterable[object], longest: int = 12) -> str:
    """Return words joined by commas, a long list cut short with its count."""
    names = [str(word) for word in words]
    if not names:
        return "none"
    rest = f" … ({len(names)} in all)" if len(names) > longest else ""
    return ", ".join(names[:longest]) + rest
