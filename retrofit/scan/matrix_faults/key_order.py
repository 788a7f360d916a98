"""The regular orders in which keys can lie on a matrix, and the key whose reading tells most about which one it is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import log2

from retrofit.scan.matrix_faults.readings import DiodeReading

_Pins = tuple[str | None, str | None]
"""The pins that current enters and leaves by, None for one that no reading has named."""


@dataclass(frozen=True, slots=True)
class KeyOrder:
    """Keys in runs: along a run one side's pin changes with every key, from run to run the other side's.

    `entering_changes` is True when it is the pin where current enters that changes with every key.  `run` is the keys
    of a whole run, `begin` the place of the first key in its run.
    """

    entering_changes: bool
    run: int
    begin: int

    def place(self, index: int) -> tuple[int, int]:
        """Return the run and the place in it of the key counted from 0."""
        return divmod(index + self.begin, self.run)


@dataclass(frozen=True, slots=True)
class _Named:
    """An order with the pins that readings have named in it."""

    order: KeyOrder
    runs: Mapping[int, str]
    places: Mapping[int, str]

    def pins(self, index: int) -> _Pins:
        run, place = self.order.place(index)
        stays, changes = self.runs.get(run), self.places.get(place)
        return (changes, stays) if self.order.entering_changes else (stays, changes)


@dataclass(frozen=True, slots=True)
class NextPress:
    """The key to hold next: what its reading is expected to tell, in bits about the order and in pins named."""

    key: int
    bits: float
    pins: float


@dataclass(frozen=True, slots=True)
class OrderFound:
    """What readings say about the order of the keys.

    `crossings` are the pins of every key, once all orders that are left agree on them all; `order` is then one of
    those, and `next_press` None.  `explained` is False when no regular order fits.
    """

    explained: bool
    order: KeyOrder | None
    crossings: Mapping[int, tuple[str, str]]
    next_press: NextPress | None


def find_order(keys: Sequence[int], believed: Mapping[int, DiodeReading]) -> OrderFound:
    """Return what the believed readings of a board with these rising keys say, and the press that tells most next."""
    fitting = tuple(_fitting(keys, believed))
    unread = [index for index, key in enumerate(keys) if key not in believed]
    if not believed or not fitting:
        return OrderFound(bool(fitting), None, {}, NextPress(keys[unread[0]], 0.0, 2.0) if unread else None)
    presses = [_press(keys[index], [named.pins(index) for named in fitting]) for index in unread]
    best = max(presses, key=lambda press: press.bits + press.pins, default=None)
    if best is not None and best.bits + best.pins > 0:
        return OrderFound(True, None, {}, best)
    crossings = {key: _complete(fitting[0].pins(index)) for index, key in enumerate(keys)}
    return OrderFound(True, fitting[0].order, crossings, None)


def out_of_order(keys: Sequence[int], believed: Mapping[int, DiodeReading]) -> int | None:
    """Return the one key without whose reading a regular order fits; None when there is no such key, or several."""
    rest = ((key, {other: believed[other] for other in believed if other != key}) for key in believed)
    odd = [key for key, readings in rest if next(_fitting(keys, readings), None) is not None]
    return odd[0] if len(odd) == 1 else None


def _fitting(keys: Sequence[int], believed: Mapping[int, DiodeReading]) -> Iterator[_Named]:
    indices = {key: index for index, key in enumerate(keys)}
    readings = [(indices[key], reading.from_pin, reading.to_pin) for key, reading in believed.items()]
    for entering_changes in (True, False):
        for run in range(1, len(keys) + 1):
            for begin in range(run):
                named = _named(KeyOrder(entering_changes, run, begin), readings)
                if named is not None:
                    yield named


def _named(order: KeyOrder, readings: Sequence[tuple[int, str, str]]) -> _Named | None:
    """Return the order with its pins named; None when two readings name a run or a place differently."""
    runs: dict[int, str] = {}
    places: dict[int, str] = {}
    for index, entering, leaving in readings:
        run, place = order.place(index)
        changes, stays = (entering, leaving) if order.entering_changes else (leaving, entering)
        if runs.setdefault(run, stays) != stays or places.setdefault(place, changes) != changes:
            return None
    one_to_one = len(set(runs.values())) == len(runs) and len(set(places.values())) == len(places)
    return _Named(order, runs, places) if one_to_one else None


def _press(key: int, answers: Sequence[_Pins]) -> NextPress:
    """Return what holding a key tells when each answer is as likely: the entropy of the answers, and new pins."""
    chances = [count / len(answers) for count in Counter(answers).values()]
    unnamed = sum(pin is None for pins in answers for pin in pins)
    return NextPress(key, -sum(chance * log2(chance) for chance in chances) + 0.0, unnamed / len(answers))


def _complete(pins: _Pins) -> tuple[str, str]:
    entering, leaving = pins
    if entering is None or leaving is None:
        raise ValueError("a key's pins are asked for before all of them are named")
    return entering, leaving
