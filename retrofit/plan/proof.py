"""The readings that prove a line to be as it was found: its own where they were taken, else those of a typical line."""

from __future__ import annotations

from collections.abc import Iterable

from retrofit.plan.operations import NOT_TAKEN, Proof
from retrofit.survey.bench import Reading, ReadingState
from retrofit.survey.contacts import GroupBase
from retrofit.survey.points import Point
from retrofit.survey.readings import LineReading, Load, State


def line_proof(group: GroupBase, point: Point, siblings: Iterable[Point]) -> Proof:
    """Return the volts of a line idle and keyed, with the meter alone; `siblings` are all points of the group."""
    names = {point.id}
    if point.found.tag and [other.found.tag for other in siblings].count(point.found.tag) == 1:
        names.add(point.found.tag)
    own = [reading for reading in group.wiring.readings if reading.line in names and reading.load is Load.METER]
    if own:
        return _proof(_first(own, State.IDLE), _first(own, State.KEYED), typical=False)
    return _proof(group.wiring.idle.volts, group.wiring.keyed.volts, typical=True)


def contact_proof(group: GroupBase) -> Proof:
    """Return the resistance of a closed contact that is ours."""
    reading = group.wiring.contact_resistance
    if _taken(reading):
        return Proof(f"closed {_in_unit(reading)} (read on a typical contact)", known=True, states=1, typical=True)
    return Proof(NOT_TAKEN, known=False, states=1)


def _first(readings: Iterable[LineReading], state: State) -> Reading | None:
    """Return the earliest reading in that state: the one nearest to as-found."""
    found = [reading for reading in readings if reading.state is state]
    return min(found, key=lambda reading: reading.date).volts if found else None


def _proof(idle: Reading | None, keyed: Reading | None, *, typical: bool) -> Proof:
    if not _taken(idle) and not _taken(keyed):
        return Proof(NOT_TAKEN, known=False, states=2)
    where = "read on a typical line of the group" if typical else "read on this line"
    words = f"idle {_in_unit(idle)}, keyed {_in_unit(keyed)} ({where})"
    return Proof(words, known=_taken(idle) and _taken(keyed), states=2, typical=typical)


def _taken(reading: Reading | None) -> bool:
    return reading is not None and reading.state is not ReadingState.UNKNOWN


def _in_unit(reading: Reading | None) -> str:
    """Return the reading as typed, with its unit where the words have none."""
    if reading is None or reading.state is ReadingState.UNKNOWN:
        return NOT_TAKEN
    bare = reading.known and not any(letter.isalpha() or letter == "Ω" for letter in reading.raw)
    return f"{reading.raw} {reading.unit}" if bare else reading.raw
