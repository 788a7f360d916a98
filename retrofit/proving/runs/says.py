"""What a run says: words for a screen, and a sound for whoever is inside the console and sees none."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple


class Sound(StrEnum):
    """What a sound means: it was right, it was wrong, or this point is asked for."""

    PASS = "pass"  # noqa: S105  # a verdict, no password
    FAIL = "fail"
    ASK = "ask"


class Say(NamedTuple):
    """One thing said.  `note` is the note of the point that it is about, None where that has none."""

    words: str
    sound: Sound | None = None
    note: int | None = None
