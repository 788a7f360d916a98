"""What a set of groups takes of one controller, and what speaks against putting them there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from math import log2

from retrofit.circuits.sense.limits import SCAN_PERIOD_US
from retrofit.circuits.two_wire_bus import ADDRESSES_OF_A_BUS
from retrofit.plan.topologies.counts import BUS_PINS, CHAIN_PINS, SELECTED_TOGETHER
from retrofit.plan.topologies.demand import STAYING, Bench, Demand
from retrofit.plan.topologies.kinds import MULTIPLEXERS, WAYS, Kind
from retrofit.plan.topologies.model import BoardLoad, Candidate, Counts, Memory
from retrofit.plan.topologies.refusals import BUSES
from retrofit.plan.topologies.times import Timed, bus_us, busy_us
from retrofit.plan.topologies.wires import Wire, chain_wire, serial_wire, two_wire
from retrofit.scan.allocate import lay_out
from retrofit.scan.layout import ScanLayout
from retrofit.scan.period import BUSY_SHARE, TICKS_US
from retrofit.scan.placing import MOST_LANES
from retrofit.scan.requests import GroupRequest, InterfaceWord, Unplaced

_LAID_OUT: dict[Kind, InterfaceWord] = {
    Kind.PINS: "pins",
    Kind.CHAIN: "chain",
    Kind.MATRIX: "matrix",
    Kind.MATRIX_DRIVEN: "matrix",
}
"""Ways of reading whose pins the layout assigns; the others take of what is left."""


@dataclass(frozen=True, slots=True)
class Site:
    """The groups of a board with their ways of reading, and the converter channels that it carries."""

    chosen: Mapping[str, Candidate]
    demands: Mapping[str, Demand]
    converters: Sequence[GroupRequest]

    def of(self, *kinds: Kind) -> list[Candidate]:
        """Return the groups that are read in one of these ways."""
        return [candidate for candidate in self.chosen.values() if candidate.kind in kinds]


def board_load(site: Site, bench: Bench) -> BoardLoad:
    """Return what the groups of a site take of one board, with every problem in words."""
    result = lay_out(_requests(site), bench.board, fixed={}, spi_hz=None)
    wires = _wires(site, bench)
    timed = {
        name: Timed(c.kind, c.counts, c.time.settle_us, wire.hz if (wire := wires.get(c.kind)) else None)
        for name, c in site.chosen.items()
    }
    scan_us = busy_us(timed, bench)
    background_us = sum(bus_us(one) for one in timed.values() if one.kind is Kind.TWO_WIRE)
    period_us = _period_us(scan_us, background_us)
    counts = _counts(site, result.layout)
    return BoardLoad(
        groups=tuple(site.chosen),
        counts=counts,
        scan_us=scan_us + background_us,
        period_us=period_us,
        memory=_memory(site, bench),
        problems=tuple(_problems(site, counts, result.unplaced, wires, period_us, bench)),
        chain_hz=wires[Kind.CHAIN].hz if Kind.CHAIN in wires else None,
        judged=tuple(judged for wire in wires.values() for judged in wire.judged),
        remarks=tuple(remark for wire in wires.values() for remark in wire.remarks),
    )


def _requests(site: Site) -> list[GroupRequest]:
    laid_out = [
        replace(site.demands[name].request, interface=word)
        for name, candidate in site.chosen.items()
        if (word := _LAID_OUT.get(candidate.kind)) is not None
    ]
    return [*laid_out, *(request for request in site.converters if request.interface in STAYING)]


def _wires(site: Site, bench: Bench) -> dict[Kind, Wire]:
    """Return the wire of each bus that the groups share, for the longest or the sum of their cables."""
    wires = {}
    if chain := site.of(Kind.CHAIN):
        lengths = [site.demands[one.group].cable_taken_m for one in chain]
        wires[Kind.CHAIN] = chain_wire(lengths, boundaries(site) + 1, bench, ())
    if serial := site.of(Kind.SERIAL):
        longest = max(site.demands[one.group].cable_taken_m for one in serial)
        wires[Kind.SERIAL] = serial_wire(longest, bench, ())
    if bus := site.of(Kind.TWO_WIRE):
        measured = [site.demands[one.group].cable_m for one in bus]
        wires[Kind.TWO_WIRE] = two_wire(measured, sum(one.counts.devices for one in bus), bench)
    return wires


def boundaries(site: Site) -> int:
    """Return how often the chain goes from a board in one place to a board in another."""
    places = {site.demands[one.group].group.wiring.board_place for one in site.of(Kind.CHAIN)}
    return max(0, len(places) - 1)


def _period_us(scan_us: float, background_us: float) -> int | None:
    """Return the shortest tick in half of which the scan fits, doubled until the bus has been round in one period."""
    period_us = next((tick for tick in TICKS_US if scan_us <= BUSY_SHARE * tick), None)
    if period_us is None or background_us > SCAN_PERIOD_US:
        return None
    while period_us < background_us:
        period_us *= 2
    return period_us


def _counts(site: Site, layout: ScanLayout) -> Counts:
    """Return the sum of the groups' counts, with pins that they share counted once."""
    summed = {
        field.name: sum(getattr(candidate.counts, field.name) for candidate in site.chosen.values())
        for field in fields(Counts)
    }
    return replace(Counts(**summed), pins=len(layout.pins) + _pins_beside(site))


def _pins_beside(site: Site) -> int:
    """Return the pins of ways of reading that the layout does not place."""
    commons = sum(one.counts.devices for one in site.of(*MULTIPLEXERS))
    selects = sum(round(log2(WAYS[kind])) for kind in MULTIPLEXERS if site.of(kind))
    serial = sum(one.counts.devices for one in site.of(Kind.SERIAL))
    own = CHAIN_PINS if serial and not site.of(Kind.CHAIN) else 0
    bus = BUS_PINS if site.of(Kind.TWO_WIRE) else 0
    return commons + selects + bus + own + -(-serial // SELECTED_TOGETHER)


def _memory(site: Site, bench: Bench) -> Memory:
    return Memory(
        ram=bench.memory.ram_base + sum(candidate.memory.ram for candidate in site.chosen.values()),
        flash=bench.memory.flash_base + sum(candidate.memory.flash for candidate in site.chosen.values()),
    )


def _problems(
    site: Site,
    counts: Counts,
    unplaced: Sequence[Unplaced],
    wires: Mapping[Kind, Wire],
    period_us: int | None,
    bench: Bench,
) -> Iterator[str]:
    for group in dict.fromkeys(problem.group for problem in unplaced):
        missing = [problem for problem in unplaced if problem.group == group]
        yield f"{_contacts(len(missing))} of {group} without a place: {missing[0].allowed}"
    shared = (Kind.CHAIN, Kind.SERIAL)
    reserved = CHAIN_PINS if site.of(*shared) else 0
    if counts.pins - reserved > bench.free_pins:
        yield f"{counts.pins - reserved} pins are asked for, and the board has {bench.free_pins} free"
    devices = sum(one.counts.devices for one in site.of(Kind.TWO_WIRE))
    if devices > ADDRESSES_OF_A_BUS * BUSES:
        yield f"{devices} expanders on a bus that tells {ADDRESSES_OF_A_BUS} apart"
    if counts.lanes > MOST_LANES:
        yield f"{counts.lanes} bytes are read, and the firmware counts {MOST_LANES}"
    if period_us is None:
        longest = f"half of the longest tick, {TICKS_US[-1]} µs, or {SCAN_PERIOD_US} µs on a two-wire bus"
        yield f"one reading takes more than {longest}"
    for kind, wire in wires.items():
        failing = [one.criterion for one in wire.judged if one.result is not None and not one.result.passes]
        if failing or wire.hz is None:
            yield f"{kind.value} with the cables of these groups together: {', '.join(failing)}"
    yield from _memory_problems(_memory(site, bench), bench)


def _contacts(number: int) -> str:
    return f"{number} contact{'' if number == 1 else 's'}"


def _memory_problems(memory: Memory, bench: Bench) -> Iterator[str]:
    flash = bench.board.flash_bytes - bench.board.boot_bytes
    if memory.ram > bench.board.ram_bytes:
        yield f"the firmware would take {memory.ram} bytes of memory, and the board has {bench.board.ram_bytes}"
    if memory.flash > flash:
        yield f"the firmware would take {memory.flash} bytes of program memory, and the board has {flash}"
