"""What a kind of fault is: how it is written, how it is done to the wiring, and how a random one is drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from retrofit.rehearsal.standin.faults.names import Names
from retrofit.rehearsal.standin.wiring import Wiring

Spoil = Callable[[Wiring], None]
"""Does a fault to a wiring."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: its kind's words, the whole of it in words that read back, and what it does to the wiring."""

    kind: str
    words: str
    spoil: Spoil


@dataclass(frozen=True, slots=True)
class FaultKind:
    """A kind of fault.

    `words` begin it and `rest` shows what follows; `what` says what it is.  `read` turns what follows into the deed and
    raises `FaultError`; `draw` returns what follows of a random one, or None where the console offers no place for it.
    """

    words: str
    rest: str
    what: str
    read: Callable[[Names, str], Spoil]
    draw: Callable[[Names, Random], str | None]

    @property
    def form(self) -> str:
        """The whole form, as it is written."""
        return f"{self.words} {self.rest}".rstrip()
