"""The words that a person may say to a run."""

from __future__ import annotations

from enum import StrEnum

from retrofit.survey.problems import did_you_mean, printable


class Word(StrEnum):
    """What can be said; each may be shortened to its first letter where that leads to no other."""

    YES = "yes"
    NO = "no"
    SKIP = "skip"
    COME_BACK = "back"
    AGAIN = "again"
    DONE = "done"
    QUIT = "quit"


MEANINGS = {
    Word.SKIP: "leave this step for later",
    Word.COME_BACK: "go to the first step that was left",
    Word.AGAIN: "do this step again from its beginning",
    Word.DONE: "this step is at its end",
    Word.QUIT: "stop here; the run can be resumed",
}


def understood(text: str) -> Word | None:
    """Return the word that was meant, None where there is none such."""
    said = text.strip().casefold()
    fits = [word for word in Word if said and word.startswith(said)]
    return fits[0] if len(fits) == 1 else None


def not_understood(text: str) -> str:
    """Return what is said to a word that there is not."""
    nearest = did_you_mean(text.strip().casefold(), map(str, Word))
    allowed = ", ".join(Word)
    return f"{printable(text.strip())!r} is no word of a run; {nearest or f'allowed are {allowed}'}"
