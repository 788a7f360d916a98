"""Why a way of reading is refused for a group."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.limits import SCAN_PERIOD_US
from retrofit.circuits.two_wire_bus import ADDRESSES_OF_A_BUS
from retrofit.plan.long_commons import long_commons
from retrofit.plan.topologies.counts import PROVEN
from retrofit.plan.topologies.demand import Bench, Demand
from retrofit.plan.topologies.kinds import MATRICES, Kind
from retrofit.plan.topologies.model import Counts, Refusal, ScanTime
from retrofit.plan.topologies.wires import BUS_WINDOW
from retrofit.scan.matrix_places import ROWS
from retrofit.scan.placing import MOST_LANES
from retrofit.survey.wiring import Owner

BUSES = 1
"""Two-wire buses of a board (Atmel 2549, two-wire serial interface)."""
CHAIN_REMEDY = "read it by the chain"


def refusals(
    kind: Kind, demand: Demand, counts: Counts, time: ScanTime, judged: tuple[Judged, ...], bench: Bench
) -> tuple[Refusal, ...]:
    """Return every reason against a way of reading, those of the wiring before those of the figures."""
    return (
        *_of_the_owner(kind, demand),
        *(_of_the_matrix(kind, demand, counts) if kind in MATRICES else ()),
        *_of_the_board(kind, counts, bench),
        *_of_the_scan(time),
        *_of_the_figures(judged),
    )


def _of_the_owner(kind: Kind, demand: Demand) -> Iterator[Refusal]:
    if demand.group.wiring.owner is not Owner.ORGAN:
        return
    if kind in MATRICES:
        found = "the matrix drives its rows through these lines, and the organ owns them"
        yield Refusal(found, f"{CHAIN_REMEDY} behind a circuit that only looks")
    if kind is not Kind.CHAIN and kind not in MATRICES:
        yield Refusal(f"the organ owns the lines, and {kind.value} are pulled up to our supply", CHAIN_REMEDY)


def _of_the_matrix(kind: Kind, demand: Demand, counts: Counts) -> Iterator[Refusal]:
    group = demand.group
    for common, last in long_commons(group, demand.places):
        verb = "would be cut in a console that is preserved" if demand.preserved else "would have to be split"
        found = (
            f"the common {common.name!r} joins contacts {common.first} to {last} and {verb}: a row joins at most "
            f"{group.wanted.matrix_columns}"
        )
        yield Refusal(found, f"{CHAIN_REMEDY} and leave the common whole")
    if group.wiring.diodes not in PROVEN:
        yield Refusal(
            f"no diodes were found: {demand.places} would have to be fitted, or three held keys sound a fourth",
            "look for a diode board with the meter, or " + CHAIN_REMEDY,
        )
    if counts.lanes > ROWS:
        found = f"{counts.lanes} rows of {group.wanted.matrix_columns} are asked for, and a matrix has at most {ROWS}"
        yield Refusal(found, "make its rows longer, or split the group")
    if kind is Kind.MATRIX_DRIVEN and group.wiring.diodes not in PROVEN:
        yield Refusal("a driven row would be joined to another by any diode that is shorted", "leave idle rows open")


def _of_the_board(kind: Kind, counts: Counts, bench: Bench) -> Iterator[Refusal]:
    if counts.pins > bench.free_pins and kind is not Kind.CHAIN:
        yield Refusal(f"{counts.pins} pins are asked for, and the board has {bench.free_pins} free", CHAIN_REMEDY)
    if counts.lanes > MOST_LANES:
        found = f"{counts.lanes} bytes are read for it, and the firmware counts {MOST_LANES}"
        yield Refusal(found, "split the group over two boards")
    if kind is Kind.TWO_WIRE and counts.devices > ADDRESSES_OF_A_BUS * BUSES:
        buses = -(-counts.devices // ADDRESSES_OF_A_BUS)
        found = f"{counts.devices} expanders are too many for one bus, which tells {ADDRESSES_OF_A_BUS} apart"
        yield Refusal(f"{found}: {buses} buses or a bus switch", CHAIN_REMEDY)


def _of_the_scan(time: ScanTime) -> Iterator[Refusal]:
    if time.scan_us > SCAN_PERIOD_US:
        found = f"one reading takes {time.scan_us / 1000:.2f} ms, and {SCAN_PERIOD_US / 1000:g} ms are the most"
        yield Refusal(found, "read fewer contacts by it")


def _of_the_figures(judged: tuple[Judged, ...]) -> Iterator[Refusal]:
    for one in judged:
        result = one.result
        if result is None or result.passes:
            continue
        if one.criterion == BUS_WINDOW:
            found = f"no pull-up serves the two-wire bus: none is quick enough at {result.corner} (UM10204)"
            yield Refusal(found, "shorten the cable, or " + CHAIN_REMEDY)
        else:
            bound = f"{'at least' if result.at_least else 'at most'} {result.limit:.3g} {result.unit}"
            found = f"{one.criterion}: {result.value:.3g} {result.unit} found, {bound} allowed ({result.corner})"
            yield Refusal(found, "clean the contacts, shorten the cable, or choose another way of reading")
