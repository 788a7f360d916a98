"""What goes into a run, one entry after the other.  The same entries make the same run, so that a record resumes it."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple


class EntryKind(StrEnum):
    """What an entry is: the beginning, a MIDI message, words of the person, time that passed, a gap in listening."""

    BEGIN = "begin"
    MIDI = "midi"
    WORDS = "words"
    TICK = "tick"
    GAP = "gap"


class Entry(NamedTuple):
    """One entry; `time_us` counts from the beginning of the run, `data` is a message or words in UTF-8."""

    kind: EntryKind
    time_us: int
    data: bytes = b""
