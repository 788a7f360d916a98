"""Diode readings of an existing board, held against each other: which of them can be believed, and what forbids it.

One key is held at a time, and every pair of pins is tried both ways: exactly one ordered pair should conduct.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass
from enum import StrEnum


@dataclass(frozen=True, slots=True, order=True)
class DiodeReading:
    """While a key is held the meter conducts from one pin (its positive lead) to another."""

    key: int
    from_pin: str
    to_pin: str


class ContradictionKind(StrEnum):
    """Why readings cannot all belong to a sound diode matrix."""

    BOTH_WAYS = "both ways"
    SEVERAL_PAIRS = "several pairs"
    SHARED_PAIR = "shared pair"
    TURNED = "turned"
    PIN_ON_BOTH_SIDES = "pin on both sides"
    OUT_OF_ORDER = "out of order"
    NO_DROP = "no drop"


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Keys whose readings contradict the others, what was found, and what to look for."""

    kind: ContradictionKind
    keys: tuple[int, ...]
    found: str
    remedy: str


_Pair = tuple[str, str]


def sort_out(
    readings: Iterable[DiodeReading],
) -> tuple[Mapping[int, DiodeReading], tuple[Contradiction, ...]]:
    """Return the readings that can be believed, by key, and every contradiction among the others."""
    pairs: defaultdict[int, set[_Pair]] = defaultdict(set)
    for reading in readings:
        pairs[reading.key].add((reading.from_pin, reading.to_pin))
    against = [found for key in sorted(pairs) if (found := _several(key, pairs[key])) is not None]
    single = {key: next(iter(found)) for key, found in sorted(pairs.items()) if len(found) == 1}
    against += _wrong_sides(single)
    against += _shared(single)
    refused = {key for contradiction in against for key in contradiction.keys}
    believed = {key: DiodeReading(key, *pair) for key, pair in single.items() if key not in refused}
    return believed, tuple(against)


def _several(key: int, pairs: set[_Pair]) -> Contradiction | None:
    if len(pairs) < 2:
        return None
    words = ", ".join(f"{from_pin} to {to_pin}" for from_pin, to_pin in sorted(pairs))
    if any((to_pin, from_pin) in pairs for from_pin, to_pin in pairs):
        remedy = "the diode is shorted or there is none, or a coil lies beside it"
        return Contradiction(ContradictionKind.BOTH_WAYS, (key,), f"key {key} conducts both ways: {words}", remedy)
    remedy = "hold one key alone and read again; a second contact of the key makes two pairs as well"
    return Contradiction(
        ContradictionKind.SEVERAL_PAIRS, (key,), f"key {key} conducts by several pairs: {words}", remedy
    )


def _wrong_sides(single: Mapping[int, _Pair]) -> list[Contradiction]:
    """Accuse, until every pin is on one side, the key that most others speak against; all of them where they draw."""
    left = dict(single)
    found: list[Contradiction] = []
    while True:
        entering = Counter(from_pin for from_pin, _ in left.values())
        leaving = Counter(to_pin for _, to_pin in left.values())
        torn = entering.keys() & leaving.keys()
        support = {
            key: entering[from_pin] - leaving[from_pin] + leaving[to_pin] - entering[to_pin]
            for key, (from_pin, to_pin) in left.items()
            if torn & {from_pin, to_pin}
        }
        if not support:
            return sorted(found, key=lambda contradiction: contradiction.keys)
        least = min(support.values())
        for key in [key for key, votes in support.items() if votes == least]:
            found.append(_wrong_side(key, *left.pop(key), torn))


def _wrong_side(key: int, from_pin: str, to_pin: str, torn: Set[str]) -> Contradiction:
    if from_pin != to_pin and {from_pin, to_pin} <= torn:
        words = f"key {key} conducts from {from_pin} to {to_pin}, against the other keys of these pins"
        remedy = "its diode is reversed, or the leads were exchanged: read again and turn the diode"
        return Contradiction(ContradictionKind.TURNED, (key,), words, remedy)
    pin = from_pin if from_pin in torn else to_pin
    words = f"key {key} conducts from {from_pin} to {to_pin}, but pin {pin} has the other part for other keys"
    remedy = "read again; look for a misread pin, a reversed diode, or a wire between a row and a column"
    return Contradiction(ContradictionKind.PIN_ON_BOTH_SIDES, (key,), words, remedy)


def _shared(single: Mapping[int, _Pair]) -> list[Contradiction]:
    keys: defaultdict[_Pair, list[int]] = defaultdict(list)
    for key, pair in single.items():
        keys[pair].append(key)
    remedy = "hold each of them alone and read again; on a matrix no two keys share a crossing"
    return [
        Contradiction(
            ContradictionKind.SHARED_PAIR,
            tuple(found),
            f"keys {', '.join(map(str, found))} all conduct from {from_pin} to {to_pin}",
            remedy,
        )
        for (from_pin, to_pin), found in sorted(keys.items())
        if len(found) > 1
    ]
