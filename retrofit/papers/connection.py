"""A wire, or a part across two pins, as one line that is made and ticked; and the sections that they stand in."""

from __future__ import annotations

from dataclasses import dataclass

SUPPLY = "our supply"
RETURN = "our return"


@dataclass(frozen=True, slots=True)
class Connection:
    """From a pin of a place (a board, a register, a socket) to where it goes, with the parts that lie between.

    `found` tells the wire as it was found in the console: its strip, tag and colour.
    """

    place: str
    pin: str
    signal: str
    to: str
    through: str = ""
    group: str = ""
    point: str = ""
    found: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """What is connected at one place, under the sentences that hold for all of it."""

    heading: tuple[str, ...]
    connections: tuple[Connection, ...]
