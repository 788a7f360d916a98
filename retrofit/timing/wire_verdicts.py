"""What a burst's time on the wire means to a player, in words.

Limits for notes: players rate 10 ms no worse than none (Jack, Mehrabi, Stockman, McPherson, Music Perception 36(1) 109,
2018), and the order of two onsets is told rightly three times in four at about 22 ms (Hirsh 1959, from memory).  Those
for states and for the share of a wire are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

NOTES_FINE_US, NOTES_TOGETHER_US = 10_000.0, 22_000.0
STATES_ACCEPTABLE_US, STATES_LATE_US = 50_000.0, 150_000.0
SHARE_FINE, SHARE_NEAR_LIMIT = 1 / 3, 0.8


class WireVerdict(StrEnum):
    """How a burst stands."""

    FINE = "fine"
    ACCEPTABLE = "acceptable"
    NEAR_LIMIT = "near the limit"
    TOO_MUCH = "too much"


class Carries(StrEnum):
    """What a burst is judged as."""

    NOTES = "notes"
    STATES = "states"
    STREAM = "stream"


@dataclass(frozen=True, slots=True)
class Judgement:
    """A verdict with its reason in words."""

    verdict: WireVerdict
    words: str


def judge(carries: Carries, us_max: float, share: float | None = None) -> Judgement:
    """Return what a burst of `us_max` means; a stream is judged by the `share` of the wire that it takes.

    Raises `ValueError` for a stream without a share.
    """
    if carries is Carries.STREAM:
        if share is None:
            raise ValueError("a stream without the time that it lasts found, allowed is one with a share of the wire")
        return _stream(share)
    return _notes(us_max) if carries is Carries.NOTES else _states(us_max)


def _notes(us_max: float) -> Judgement:
    if us_max <= NOTES_FINE_US:
        return Judgement(WireVerdict.FINE, "sounds together")
    if us_max <= NOTES_TOGETHER_US:
        return Judgement(WireVerdict.ACCEPTABLE, "hardly heard as a spread")
    return Judgement(WireVerdict.TOO_MUCH, "heard as a spread: a second port or USB")


def _states(us_max: float) -> Judgement:
    if us_max <= NOTES_FINE_US:
        return Judgement(WireVerdict.FINE, "done before anybody hears it")
    if us_max <= STATES_ACCEPTABLE_US:
        return Judgement(WireVerdict.ACCEPTABLE, "notes go between")
    if us_max <= STATES_LATE_US:
        return Judgement(WireVerdict.NEAR_LIMIT, "heard if it went ahead of notes; notes go between")
    return Judgement(WireVerdict.TOO_MUCH, "late even with notes between: fewer bytes each, a second port or USB")


def _stream(share: float) -> Judgement:
    words = f"takes {100 * share:.0f} % of the wire"
    if share <= SHARE_FINE:
        return Judgement(WireVerdict.FINE, words)
    if share <= SHARE_NEAR_LIMIT:
        return Judgement(WireVerdict.NEAR_LIMIT, f"{words}: little is left for anything else")
    return Judgement(WireVerdict.TOO_MUCH, f"{words}: fewer messages, a second port or USB")
