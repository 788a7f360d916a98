"""Faults between the headers and the controller: registers of the chain, inputs, multiplexers and expanders."""

from __future__ import annotations

from functools import partial
from random import Random

from retrofit.rehearsal.standin.faults.kind import FaultKind, Spoil
from retrofit.rehearsal.standin.faults.names import FaultError, Names
from retrofit.rehearsal.standin.wiring import Pin, Place, Wiring
from retrofit.scan.layout import Source
from retrofit.survey.problems import shown

_LEVELS = {"low": False, "high": True, "": True}
"""A line that nobody drives is pulled high unless it is said to be low."""


def _stream(names: Names) -> list[Place]:
    """Return the places of the chain in the order in which their bits arrive: bit 7 of each register first."""
    chain = sorted((place, lane) for (source, _, place), lane in names.lanes.items() if source is Source.CHAIN)
    return [Place(lane, bit) for _, lane in chain for bit in range(7, -1, -1)]


def _register_and_level(names: Names, text: str) -> tuple[int, bool]:
    number, _, level = text.strip().partition(" ")
    if level not in _LEVELS:
        raise FaultError(f"{shown(text)} found, allowed is a register with low or high")
    return names.number("register", number, range(names.registers)), _LEVELS[level]


def _hold(places: tuple[Place, ...], level: bool, wiring: Wiring) -> None:
    wiring.read_from |= dict.fromkeys(places, level)


def _read_no_data(names: Names, text: str) -> Spoil:
    register, level = _register_and_level(names, text)
    return partial(_hold, tuple(_stream(names)[8 * (register + 1) :]), level)


def _read_no_power(names: Names, text: str) -> Spoil:
    register, level = _register_and_level(names, text)
    return partial(_hold, tuple(_stream(names)[8 * register :]), level)


def _read_no_load(names: Names, text: str) -> Spoil:
    register, level = _register_and_level(names, text)
    return partial(_hold, tuple(_stream(names)[8 * register : 8 * (register + 1)]), level)


def _slip(stream: tuple[Place, ...], first: int, step: int, wiring: Wiring) -> None:
    """Let each bit from one on show the one `step` behind it; beyond the end the chain is pulled high."""
    before = dict(wiring.read_from)
    for index in range(first, len(stream)):
        source = index + step
        wiring.read_from[stream[index]] = before[stream[source]] if source < len(stream) else True


def _read_slip(step: int, names: Names, text: str) -> Spoil:
    register = names.number("register", text, range(names.registers))
    stream = tuple(_stream(names))
    first = 8 * register
    if first + step < 0:
        raise FaultError(f"{shown(text)} found, allowed are registers from 1 on: before the first there is none")
    return partial(_slip, stream, first, step)


def _draw_register(least: int, beyond: int, names: Names, random: Random) -> str | None:
    """Draw a register of the groups that faults concern, from `least` on and with `beyond` more behind it."""
    groups = names.drawn_groups()
    registers = [
        place
        for (source, _, place), lane in names.lanes.items()
        if source is Source.CHAIN and names.lane_groups[lane] in groups and least <= place < names.registers - beyond
    ]
    return str(random.choice(registers)) if registers else None


def _stick(pin: Pin, level: bool, wiring: Wiring) -> None:
    wiring.stuck_inputs[wiring.leads[pin]] = level


def _read_stuck(names: Names, text: str) -> Spoil:
    head, _, level = text.strip().rpartition(" ")
    if not head or level not in _LEVELS:
        raise FaultError(f"{shown(text)} found, allowed is a point or a pin with low or high")
    pin = names.pin(head)
    if pin not in names.inputs:
        raise FaultError(f"{shown(head)} found, which is no input; allowed are pins that the board reads")
    return partial(_stick, pin, _LEVELS[level])


def _draw_stuck(names: Names, random: Random) -> str | None:
    wires = [pin for pin in names.drawn_wires() if pin in names.inputs]
    return f"{names.wire_words(random.choice(wires))} {random.choice(('low', 'high'))}" if wires else None


def _bleed(pairs: tuple[tuple[Place, Place], ...], wiring: Wiring) -> None:
    wiring.bleeds |= dict(pairs)


def _read_bleed(names: Names, text: str) -> Spoil:
    number = names.number("multiplexer", text, names.multiplexers)
    bank, bit = divmod(number - 1, 8)
    inputs = sorted(
        (place, lane)
        for (source, where, place), lane in names.lanes.items()
        if source is Source.MULTIPLEXER and where == str(bank + 1)
    )
    pairs = zip(inputs[1:], inputs, strict=False)
    return partial(_bleed, tuple((Place(lane, bit), Place(before, bit)) for (_, lane), (_, before) in pairs))


def _draw_multiplexer(names: Names, random: Random) -> str | None:
    groups = names.drawn_groups()
    banks = {
        int(where)
        for (source, where, _), lane in names.lanes.items()
        if source is Source.MULTIPLEXER and names.lane_groups[lane] in groups
    }
    numbers = [number for number in names.multiplexers if (number - 1) // 8 + 1 in banks]
    return str(random.choice(numbers)) if numbers else None


def _expander_places(names: Names, number: int) -> tuple[Place, ...]:
    return tuple(
        Place(lane, bit)
        for (source, where, _), lane in names.lanes.items()
        if source is Source.EXPANDER and where == str(number)
        for bit in range(8)
    )


def _unplug(places: tuple[Place, ...], wiring: Wiring) -> None:
    """Let the board take what it does not hear as idle."""
    wiring.read_from |= {place: not wiring.lanes[place.lane].keyed_level for place in places}


def _read_missing(names: Names, text: str) -> Spoil:
    return partial(_unplug, _expander_places(names, names.number("expander", text, names.expanders)))


def _draw_expander(names: Names, random: Random) -> str | None:
    groups = names.drawn_groups()
    found = {
        where
        for (source, where, _), lane in names.lanes.items()
        if source is Source.EXPANDER and names.lane_groups[lane] in groups
    }
    return random.choice(sorted(found)) if found else None


KINDS = (
    FaultKind(
        "no data behind register",
        "NUMBER low or high",
        "the data joint behind a register is open: what lies behind reads constant",
        _read_no_data,
        partial(_draw_register, 0, 1),
    ),
    FaultKind(
        "no power at register",
        "NUMBER low or high",
        "a register has no supply: it and what lies behind read constant",
        _read_no_power,
        partial(_draw_register, 0, 0),
    ),
    FaultKind(
        "no load at register",
        "NUMBER low or high",
        "a register does not take its inputs over: its eight read constant",
        _read_no_load,
        partial(_draw_register, 0, 0),
    ),
    FaultKind(
        "extra clock at register",
        "NUMBER",
        "a register and those behind it are clocked once too often: every bit shows the one behind it",
        partial(_read_slip, 1),
        partial(_draw_register, 0, 0),
    ),
    FaultKind(
        "lost clock at register",
        "NUMBER",
        "a register and those behind it miss a clock: every bit shows the one before it",
        partial(_read_slip, -1),
        partial(_draw_register, 1, 0),
    ),
    FaultKind("stuck input", "POINT or PIN low or high", "an input of the board is dead", _read_stuck, _draw_stuck),
    FaultKind(
        "bleed multiplexer",
        "NUMBER",
        "a multiplexer is read too soon: a low input shows at the next one too",
        _read_bleed,
        _draw_multiplexer,
    ),
    FaultKind("missing expander", "NUMBER", "an expander does not answer", _read_missing, _draw_expander),
)
