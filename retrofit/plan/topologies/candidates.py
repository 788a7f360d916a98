"""One way of reading worked out for one group: counts, time, levels, wire, memory and refusals put together."""

from __future__ import annotations

from retrofit.circuits.result import Result
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.limits import SCAN_PERIOD_GOOD_US, SCAN_PERIOD_US
from retrofit.plan.topologies.contact_levels import contact_levels
from retrofit.plan.topologies.counts import PROVEN, count
from retrofit.plan.topologies.demand import Bench, Demand
from retrofit.plan.topologies.kinds import EXPANDERS, MATRICES, MULTIPLEXERS, Kind, wish_word
from retrofit.plan.topologies.model import Candidate, Counts, Memory, ScanTime
from retrofit.plan.topologies.refusals import refusals
from retrofit.plan.topologies.times import Timed, scan_time, settle_us
from retrofit.plan.topologies.wires import Wire, cable_words, chain_wire, serial_wire, two_wire
from retrofit.survey.wiring import Owner

SCAN = "one reading of every contact"
_NO_WIRE = Wire(None, ())


def candidates(demand: Demand, bench: Bench) -> tuple[Candidate, ...]:
    """Return every way of reading a group, each as if the group had a board of its own."""
    return tuple(candidate(kind, demand, bench) for kind in Kind)


def candidate(kind: Kind, demand: Demand, bench: Bench) -> Candidate:
    """Return one way of reading, worked out."""
    counts, wait_us = count(kind, demand, bench), settle_us(kind, demand, bench)
    wire = _wire(kind, demand, counts, bench)
    time = scan_time(Timed(kind, counts, wait_us, wire.hz), bench)
    levels = contact_levels(kind, demand, bench)
    judged = (*levels.judged, *wire.judged, _judge_scan(time))
    found = refusals(kind, demand, counts, time, judged, bench)
    circuit = (f"each line behind: {levels.circuit}",) if demand.group.wiring.owner is Owner.ORGAN else ()
    return Candidate(
        kind=kind,
        group=demand.group.id,
        wish=wish_word(kind),
        counts=counts,
        time=time,
        memory=memory(counts, demand, bench),
        judged=judged,
        cable=cable_words(kind, demand, bench),
        refusals=(*found, *levels.refusals),
        remarks=(*(circuit if levels.circuit else ()), *levels.remarks, *wire.remarks, *_remarks(kind, demand, bench)),
        assumptions=tuple(dict.fromkeys((*levels.assumptions, *wire.assumptions, *_assumed(kind, demand)))),
    )


def _wire(kind: Kind, demand: Demand, counts: Counts, bench: Bench) -> Wire:
    match kind:
        case Kind.CHAIN:
            return chain_wire((demand.cable_taken_m,), 1, bench, demand.assumed)
        case Kind.SERIAL:
            return serial_wire(demand.cable_taken_m, bench, demand.assumed)
        case Kind.TWO_WIRE:
            return two_wire((demand.cable_m,), counts.devices, bench)
        case _:
            return _NO_WIRE


def _judge_scan(time: ScanTime) -> Judged:
    result = Result(time.scan_us, SCAN_PERIOD_US, "µs", at_least=False, corner="quiet contacts")
    return Judged(SCAN, result, good_from=SCAN_PERIOD_US - SCAN_PERIOD_GOOD_US)


def memory(counts: Counts, demand: Demand, bench: Bench) -> Memory:
    """Return what a group adds to the firmware, with a hold-off kept for every key."""
    own = bench.memory
    keys = demand.places if demand.request.speed == 0 else 0
    return Memory(
        ram=own.ram_group + counts.lanes * own.ram_lane + keys * own.ram_hold,
        flash=own.flash_group + counts.lanes * own.flash_lane,
    )


def _remarks(kind: Kind, demand: Demand, bench: Bench) -> tuple[str, ...]:
    joined = kind not in MATRICES and demand.group.wiring.diodes in PROVEN
    words = ("the diode board joins the contacts in rows: each contact has to be freed of it",) if joined else ()
    return (*words, *_remarks_of_the_parts(kind, demand, bench))


def _remarks_of_the_parts(kind: Kind, demand: Demand, bench: Bench) -> tuple[str, ...]:
    if kind in MULTIPLEXERS:
        return ("a multiplexer breaks before it makes: the wait of each step lets go what the common still holds",)
    if kind is Kind.MATRIX_DRIVEN and demand.group.wiring.diodes in PROVEN:
        return ("a diode that becomes shorted ties two row drivers together: two keys of a column then fight",)
    if kind in EXPANDERS:
        part = bench.expander(kind)
        inputs = part.figures["inputs"].usual
        return (f"{part.name}: {inputs:.0f} of 16 bits are inputs, because GPA7 and GPB7 of newer parts only drive",)
    return ()


def _assumed(kind: Kind, demand: Demand) -> tuple[str, ...]:
    return demand.assumed if kind in MATRICES or kind in MULTIPLEXERS else ()
