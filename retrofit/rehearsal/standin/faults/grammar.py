"""Reading a fault from words, and drawing random ones."""

from __future__ import annotations

from random import Random

from retrofit.rehearsal.standin.faults import board, contacts, influences, plugs, settings, wires
from retrofit.rehearsal.standin.faults.kind import Fault, FaultKind
from retrofit.rehearsal.standin.faults.names import FaultError, Names
from retrofit.survey.problems import did_you_mean, shown

KINDS: tuple[FaultKind, ...] = (
    *wires.KINDS,
    *plugs.KINDS,
    *contacts.KINDS,
    *board.KINDS,
    *influences.KINDS,
    *settings.KINDS,
)
"""Every kind of fault, in the order in which they are listed."""


def parse_fault(text: str, names: Names) -> Fault:
    """Return the fault that `text` names.  Raises `FaultError` saying what is allowed."""
    words = " ".join(text.split())
    kinds = [kind for kind in KINDS if words == kind.words or words.startswith(kind.words + " ")]
    if not kinds:
        raise FaultError(f"{shown(text)} found, which is no fault; {_nearest_form(words)}")
    kind = max(kinds, key=lambda kind: len(kind.words))
    try:
        return Fault(kind.words, words, kind.read(names, words[len(kind.words) :].strip()))
    except FaultError as error:
        raise FaultError(f"{shown(text)}: {error}; the form is: {kind.form}") from None


def _nearest_form(words: str) -> str:
    forms = {kind.words: kind.form for kind in KINDS}
    suggested = did_you_mean(" ".join(words.split()[:2]), forms)
    return suggested or f"allowed are {', '.join(forms.values())}"


def random_fault(kind: str, names: Names, random: Random) -> Fault | None:
    """Return a random fault of a kind, named by its words; None where the console has no place for it."""
    found = next(one for one in KINDS if one.words == kind)
    rest = found.draw(names, random)
    return None if rest is None else parse_fault(f"{kind} {rest}", names)
