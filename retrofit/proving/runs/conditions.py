"""What has to hold before a run begins; each is asked of the person, and none is taken for granted."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True, slots=True)
class Question:
    """A condition as it is asked, and what to do when it does not hold."""

    words: str
    remedy: str


class Condition(StrEnum):
    """A condition of a run."""

    AMPLIFIER = "amplifier"
    STOPS = "stops"
    COUPLERS = "couplers"
    TREMULANT = "tremulant"
    HANDS_OUT = "hands-out"


QUESTIONS = {
    Condition.AMPLIFIER: Question(
        "Is the amplifier turned down, and is nobody near a loudspeaker?",
        "turn it down: a sudden full organ harms hearing and loudspeakers",
    ),
    Condition.STOPS: Question("Do the stops stand as wanted for this division?", "set them, then answer yes"),
    Condition.COUPLERS: Question(
        "Are all couplers off?", "take them off: with a coupler on, one key speaks for several"
    ),
    Condition.TREMULANT: Question("Is the tremulant off?", "switch it off, then answer yes"),
    Condition.HANDS_OUT: Question(
        "The make-safe record is not complete. Will all hands stay out of the instrument during this run?",
        "complete [make_safe] in the job file before anybody reaches in; unplug first, a switch is no isolation; mains "
        "work is for people licensed for it, as local law says",
    ),
}

CAUTIONS = (
    "the instrument is powered during this run: keep hands out of it, and touch keys, stops and shoes alone",
    "turn the amplifier down first: a sudden full organ harms hearing and loudspeakers",
    "mains work is for people licensed for it, as local law says; if in doubt stop and ask",
)
"""Said before every run."""


def conditions_of(make_safe_complete: bool) -> tuple[Condition, ...]:
    """Return the conditions to ask for, in order."""
    return tuple(condition for condition in Condition if condition is not Condition.HANDS_OUT or not make_safe_complete)
