"""How quickly people play: what repetition and trills ask of a debounce, each figure with its standing."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class HumanLimit:
    """A figure of human playing as a range, what it is, and where it comes from."""

    least: float
    greatest: float
    unit: str
    what: str
    status: str


COMMON = "common practice, no source"

REPEATED_NOTE = HumanLimit(10, 14, "strokes/s", "the fastest repeated note of one key", COMMON)
KEY_UP = HumanLimit(20, 30, "ms", "the shortest time that a key is up between repeated notes", COMMON)
TRILL = HumanLimit(12, 15, "strokes/s", "a trill, counted over both of its keys", COMMON)
LIMITS = (REPEATED_NOTE, KEY_UP, TRILL)


def repetition_words(certain_per_s: float, least_up_us: float) -> str:
    """Return how the strokes that are certain to be heard stand to the fastest that people play.

    Each key of a trill sounds at half of its rate, so that a key which repeats quickly enough trills as well.
    """
    quick, up_us = REPEATED_NOTE.greatest, KEY_UP.least * 1000
    if certain_per_s >= quick and least_up_us <= up_us:
        return f"quick repeats ({quick:g} a second, up for {KEY_UP.least:g} ms) are all heard"
    if certain_per_s < TRILL.greatest / 2:
        return f"not even a trill of {TRILL.greatest:g} strokes a second is certain to be heard"
    if certain_per_s < quick:
        return f"repeats quicker than {certain_per_s:.3g} a second may merge; a trill is heard"
    return f"a key that is up for less than {least_up_us / 1000:.3g} ms between repeats may merge; a trill is heard"
