"""Readings that cannot be, or not all of them: named, and never turned into a conclusion."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from retrofit.circuits.line.evidence import LOAD_OHMS, Evidence, Taken
from retrofit.circuits.line.features import NOTHING_VOLTS, QUIET_AC_VOLTS, Feature, Seen, features
from retrofit.survey.readings import Load, State

THOUSAND_LOW, THOUSAND_HIGH = 700.0, 1400.0
"""A ratio between these looks like millivolts written for volts, or volts for millivolts."""
KEYING_VOLTS = (4.0, 50.0)
"""Volts that lines are keyed with; common practice, no source."""
SAME_SHARE = 0.2

Features = Mapping[Feature, Seen]


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Something that cannot be: a code in words, and a sentence with the figures and what to do."""

    code: str
    words: str


def contradictions(evidence: Evidence) -> tuple[Contradiction, ...]:
    """Return every contradiction in the readings of one line."""
    seen = features(evidence)
    of_readings = (_overload, _missing_half, _raised, _turned, _thousandfold, _against_supply)
    of_states = (_unchanged, _nothing, _shorted, _millivolts_everywhere)
    return (
        *(found for check in of_readings for found in check(evidence)),
        *(found for check in of_states for found in check(evidence, seen)),
    )


def _overload(evidence: Evidence) -> Iterator[Contradiction]:
    for taken in _latest(evidence):
        if taken.overload:
            words = f"{_name(taken)}: a volts range that shows OL is too low, or the volts are; take a higher range"
            yield Contradiction("overload-in-volts", words)


def _latest(evidence: Evidence) -> Iterable[Taken]:
    """Return the readings that count: a later one of the same state and load takes the place of an earlier one."""
    return {(taken.state, taken.load): taken for taken in evidence.taken}.values()


def _missing_half(evidence: Evidence) -> Iterator[Contradiction]:
    for state in State:
        loads = [t.load.value for t in evidence.taken if t.state is state and t.load is not Load.METER]
        if loads and evidence.at(state) is None:
            words = f"{state}: read with {', '.join(loads)} but never with the meter alone, which comes first"
            yield Contradiction("load-before-meter", words)


def _unchanged(evidence: Evidence, seen: Features) -> Iterator[Contradiction]:
    """Idle and keyed may only be equal where something else than the key moves the line."""
    idle, keyed = evidence.volts(State.IDLE), evidence.volts(State.KEYED)
    if idle is None or keyed is None or seen.get(Feature.CHANGE) is not Seen.SAME:
        return
    busy = seen.get(Feature.AC) not in (Seen.QUIET, Seen.UNEASY, None) or _like_data(seen, idle)
    if max(abs(idle), abs(keyed)) > NOTHING_VOLTS and not busy:
        words = f"idle {idle:g} V and keyed {keyed:g} V are equal: another line, a key not down, or a dead contact"
        yield Contradiction("idle-equals-keyed", words)


def _like_data(seen: Features, volts: float) -> bool:
    return seen.get(Feature.IDLE) in (Seen.PLUS, Seen.MINUS, None) and 1.0 <= abs(volts) <= 4.0


def _nothing(_: Evidence, seen: Features) -> Iterator[Contradiction]:
    silent = all(seen.get(feature) is Seen.ZERO for feature in (Feature.IDLE, Feature.KEYED))
    if silent and seen.get(Feature.AC) is Seen.QUIET and seen.get(Feature.DIODE) in (Seen.BOTH, Seen.OPEN):
        words = "nothing idle and nothing keyed, neither DC nor AC: no power, no return under the black clip, or dead"
        yield Contradiction("nothing-on-the-line", words)


def _shorted(evidence: Evidence, seen: Features) -> Iterator[Contradiction]:
    """A line that rests on the return has no volts while it rests."""
    idle = evidence.volts(State.IDLE)
    if seen.get(Feature.TO_RETURN) is Seen.SHORT and idle is not None and abs(idle) > NOTHING_VOLTS:
        ohms = evidence.structure.line_to_return_ohms
        words = f"{ohms:g} Ω to return with the power off, but {idle:g} V idle: another line, or clips on one another"
        yield Contradiction("short-with-volts", words)


def _raised(evidence: Evidence) -> Iterator[Contradiction]:
    """A load to return cannot raise a line: its source resistance would be below zero."""
    for alone, loaded in _pairs(evidence):
        least = abs(loaded.volts or 0.0) - loaded.error_volts
        if least > abs(alone.volts or 0.0) + alone.error_volts and _same_sign(alone, loaded):
            words = (
                f"{_name(loaded)}: {loaded.volts:g} V is above the {alone.volts:g} V without it, which would be a "
                "source resistance below zero; read both again"
            )
            yield Contradiction("load-raises-volts", words)


def _turned(evidence: Evidence) -> Iterator[Contradiction]:
    for alone, loaded in _pairs(evidence):
        if not _same_sign(alone, loaded) and min(abs(alone.volts or 0), abs(loaded.volts or 0)) > NOTHING_VOLTS:
            words = f"{_name(loaded)}: {loaded.volts:g} V after {alone.volts:g} V; the clips are exchanged in one"
            yield Contradiction("swapped-polarity", words)


def _thousandfold(evidence: Evidence) -> Iterator[Contradiction]:
    for alone, loaded in _pairs(evidence):
        small, great = sorted((abs(alone.volts or 0.0), abs(loaded.volts or 0.0)))
        if loaded.load is Load.MEGOHM and small > 0 and _thousand(great / small):
            words = f"{alone.volts:g} V alone but {loaded.volts:g} V with {loaded.load}: V and mV may be exchanged"
            yield Contradiction("thousandfold", words)


def _millivolts_everywhere(evidence: Evidence, seen: Features) -> Iterator[Contradiction]:
    """Find a key that changes the line by millivolts of DC without any AC: it was probably volts."""
    taken = [t for state in State if (t := evidence.at(state)) is not None and t.volts is not None]
    greatest = max((abs(t.volts or 0.0) for t in taken), default=0.0)
    silent = all(t.ac_volts is not None and t.ac_volts < QUIET_AC_VOLTS for t in taken)
    suspicious = KEYING_VOLTS[0] / 1000 <= greatest <= KEYING_VOLTS[1] / 1000
    if len(taken) == len(State) and silent and suspicious and seen.get(Feature.CHANGE) is Seen.DIFFERS:
        yield Contradiction("thousandfold", f"at most {greatest * 1000:g} mV: was {greatest * 1000:g} V meant?")


def _against_supply(evidence: Evidence) -> Iterator[Contradiction]:
    """Hold the greater state against the supply that feeds the group.

    Only keyed volts have to be of its sign: idle ones may come from a bias.
    """
    idle, keyed, supply = evidence.volts(State.IDLE), evidence.volts(State.KEYED), evidence.supply_volts
    if idle is None or keyed is None or not supply or idle == keyed == 0:
        return
    greater = max(keyed, idle, key=abs)
    if _thousand(abs(supply / greater)) or _thousand(abs(greater / supply)):
        words = f"at most {greater:g} V on a supply of {supply:g} V, a thousandth or a thousandfold: V and mV exchanged"
        yield Contradiction("thousandfold", words)
    elif (
        abs(keyed) >= abs(idle) and greater * supply < 0 and abs(abs(greater) - abs(supply)) < SAME_SHARE * abs(supply)
    ):
        words = f"{greater:g} V on a supply of {supply:g} V: red and black clips exchanged, or another supply"
        yield Contradiction("swapped-polarity", words)


def _pairs(evidence: Evidence) -> Iterator[tuple[Taken, Taken]]:
    """Yield the meter's own reading with each loaded one of the same state."""
    for state in State:
        for load in LOAD_OHMS:
            alone, loaded = evidence.at(state), evidence.at(state, load)
            if alone and loaded and alone.volts is not None and loaded.volts is not None:
                yield alone, loaded


def _same_sign(one: Taken, other: Taken) -> bool:
    return (one.volts or 0.0) * (other.volts or 0.0) >= 0


def _thousand(ratio: float) -> bool:
    return THOUSAND_LOW <= ratio <= THOUSAND_HIGH


def _name(taken: Taken) -> str:
    return f"{taken.state} with {taken.load}"
