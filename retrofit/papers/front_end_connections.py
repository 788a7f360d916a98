"""What is connected to multiplexers and to expanders on the two-wire bus, part by part.

Pins of the parts are from memory (Nexperia 74HC4051 and 74HC4067, Microchip MCP23017: pin descriptions), and the paper
says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from retrofit.catalogue.load import load_catalogue
from retrofit.papers.connection import RETURN, SUPPLY, Connection, Section
from retrofit.papers.fitted_parts import chosen_parts, parts_words
from retrofit.papers.inputs import EXPANDER_PINS, MULTIPLEXER_PINS
from retrofit.papers.point_words import found_text, point_words
from retrofit.plan.model import ConversionPlan
from retrofit.scan.layout import BankLayout, Lane, Source

FROM_MEMORY = "pins of this part are from memory: check them with the data sheet"
PER_BANK = 8


@dataclass(frozen=True, slots=True)
class _Package:
    """Pins of a multiplexer that are not inputs."""

    common: int
    selects: tuple[int, ...]
    to_return: tuple[int, ...]
    supply: int


_PACKAGES = {8: _Package(3, (11, 10, 9), (6, 7, 8), 16), 16: _Package(1, (10, 11, 14, 13), (15, 12), 24)}


def front_end_sections(plan: ConversionPlan) -> Iterator[Section]:
    """Yield a section for each multiplexer and each expander."""
    for bank in plan.layout.banks:
        for bit in range(bank.multiplexers):
            yield _multiplexer(plan, bank, bit)
    for expander in plan.layout.expanders:
        yield _expander(plan, expander)


def _multiplexer(plan: ConversionPlan, bank: BankLayout, bit: int) -> Section:
    number, package = (bank.number - 1) * PER_BANK + bit + 1, _PACKAGES[bank.inputs]
    place = f"multiplexer {number}"
    lanes = _lanes(plan, Source.MULTIPLEXER, str(bank.number))
    inputs = (
        _input(plan, lane, bit, place, MULTIPLEXER_PINS[bank.inputs][lane.place], f"Y{lane.place}") for lane in lanes
    )
    board = load_catalogue().boards[plan.board]
    common = next(pin.name for pin in board.pins if (pin.port, pin.bit) == (bank.common_port, bit))
    groups = dict.fromkeys(lane.group for lane in lanes)
    pull_up = next((words for group in groups if (words := parts_words(chosen_parts(plan, group)))), "")
    ends = (
        Connection(place, str(package.common), "common", f"board pin {common}", pull_up),
        *(
            Connection(place, str(pin), f"select {n}", f"board pin {bank.select_pins[n]}")
            for n, pin in enumerate(package.selects)
            if n < len(bank.select_pins)
        ),
        *(Connection(place, str(pin), "return", RETURN) for pin in package.to_return),
        Connection(place, str(package.supply), "supply", SUPPLY, "capacitor 100 nF to our return"),
    )
    heading = f"MULTIPLEXER {number}: {bank.inputs}:1, read for {', '.join(groups)}"
    return Section((heading, FROM_MEMORY), (*ends, *(row for row in inputs if row is not None)))


def _expander(plan: ConversionPlan, expander: int) -> Section:
    place = f"expander {expander}"
    lanes = _lanes(plan, Source.EXPANDER, str(expander))
    inputs = (
        _input(plan, lane, bit, place, EXPANDER_PINS[lane.place * 8 + bit], f"GP{'AB'[lane.place]}{bit}")
        for lane in lanes
        for bit in range(8)
    )
    board = load_catalogue().boards[plan.board]
    bus = {use: pin for pin, use in board.bus_pins.items()}
    address = expander - 1
    ends = (
        Connection(place, "13", "bus data", f"board pin {bus['bus data']}"),
        Connection(place, "12", "bus clock", f"board pin {bus['bus clock']}"),
        *(Connection(place, str(15 + n), f"address {n}", SUPPLY if address >> n & 1 else RETURN) for n in range(3)),
        Connection(place, "18", "reset", SUPPLY),
        Connection(place, "9", "supply", SUPPLY, "capacitor 100 nF to our return"),
        Connection(place, "10", "return", RETURN),
    )
    heading = f"EXPANDER {expander}: on the two-wire bus, read for {', '.join(dict.fromkeys(x.group for x in lanes))}"
    return Section((heading, FROM_MEMORY), (*ends, *(row for row in inputs if row is not None)))


def _lanes(plan: ConversionPlan, source: Source, where: str) -> list[Lane]:
    return [lane for lane in plan.layout.lanes if lane.source is source and lane.where == where]


def _input(plan: ConversionPlan, lane: Lane, bit: int, place: str, pin: int, signal: str) -> Connection | None:
    """Return the row of one input; None for an input that reads nothing."""
    name = lane.points[bit]
    if name is None or not lane.used >> bit & 1:
        return None
    point = next(planned.point for planned in plan.points if planned.point.id == name)
    parts = "" if lane.source is Source.MULTIPLEXER else parts_words(chosen_parts(plan, lane.group))
    return Connection(place, str(pin), signal, point_words(point), parts, point.group, point.id, found_text(point))
