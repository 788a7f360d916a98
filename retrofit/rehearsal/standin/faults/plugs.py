"""Faults of plugs on their headers: turned round, exchanged, one pin off, mirrored."""

from __future__ import annotations

from functools import partial
from random import Random

from retrofit.plan.connectors import WAYS
from retrofit.rehearsal.standin.faults.kind import FaultKind, Spoil
from retrofit.rehearsal.standin.faults.names import FaultError, Names, both
from retrofit.rehearsal.standin.wiring import Diode, Pin, Wiring
from retrofit.survey.problems import shown

PINS = range(1, WAYS + 1)


def _turned(pin: Pin | None) -> Pin | None:
    return None if pin is None else Pin(pin.connector, WAYS + 1 - pin.number)


def _turn(connectors: tuple[str, ...], wiring: Wiring) -> None:
    for connector in connectors:
        wiring.mated |= {Pin(connector, n): _turned(wiring.mated[Pin(connector, n)]) for n in PINS}


def _read_turn(names: Names, text: str) -> Spoil:
    return partial(_turn, (names.connector(text),))


def _draw_connector(names: Names, random: Random) -> str | None:
    connectors = names.drawn_connectors()
    return random.choice(connectors) if connectors else None


def _swap(one: str, other: str, wiring: Wiring) -> None:
    for n in PINS:
        first, second = Pin(one, n), Pin(other, n)
        wiring.mated[first], wiring.mated[second] = wiring.mated[second], wiring.mated[first]


def _read_swap(names: Names, text: str) -> Spoil:
    return partial(_swap, *both(text, names.connector))


def _draw_swap(names: Names, random: Random) -> str | None:
    plain = names.drawn_connectors(matrix=False)
    return " and ".join(random.sample(plain, 2)) if len(plain) > 1 else None


def _shift(connector: str, step: int, wiring: Wiring) -> None:
    met = {n: wiring.mated[Pin(connector, n)] for n in PINS}
    wiring.mated |= {Pin(connector, n): met.get(n + step) for n in PINS}


def _read_shift(names: Names, text: str) -> Spoil:
    connector, _, way = text.strip().partition(" ")
    if way not in ("up", "down"):
        raise FaultError(f"{shown(text)} found, allowed is a connector with up or down")
    return partial(_shift, names.connector(connector), 1 if way == "up" else -1)


def _draw_shift(names: Names, random: Random) -> str | None:
    connector = _draw_connector(names, random)
    return None if connector is None else f"{connector} {random.choice(('up', 'down'))}"


def _exchange(columns: str, rows: str, points: frozenset[str], wiring: Wiring) -> None:
    _swap(columns, rows, wiring)
    for contact in wiring.contacts:
        if contact.point in points and contact.diode is Diode.SOUND:
            contact.diode = Diode.REVERSED


def _read_exchange(names: Names, text: str) -> Spoil:
    number = str(names.number("matrix", text, [int(one) for one in names.matrices]))
    columns, rows = names.matrices[number]
    points = frozenset(p for p, crossing in names.crossings.items() if crossing.column.connector == columns.name)
    return partial(_exchange, columns.name, rows.name, points)


def _draw_exchange(names: Names, random: Random) -> str | None:
    drawn = names.drawn_connectors(matrix=True)
    numbers = [number for number, (columns, _) in names.matrices.items() if columns.name in drawn]
    return random.choice(numbers) if numbers else None


KINDS = (
    FaultKind("turn connector", "CONNECTOR", "a plug is turned round on its header", _read_turn, _draw_connector),
    FaultKind(
        "swap connectors", "CONNECTOR and CONNECTOR", "two plugs are on each other's header", _read_swap, _draw_swap
    ),
    FaultKind(
        "exchange rows and columns",
        "NUMBER OF THE MATRIX",
        "its two plugs are exchanged, and the diodes were put in to suit",
        _read_exchange,
        _draw_exchange,
    ),
    FaultKind(
        "shift connector", "CONNECTOR up or down", "a plug sits one pin off on its header", _read_shift, _draw_shift
    ),
)
