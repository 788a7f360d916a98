"""Levels, contact tolerance and wetting of a group's lines behind each way of reading, at the worst corners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from retrofit.circuits.pullup import (
    PULL_UP_OHMS,
    PULL_UP_TOLERANCE,
    PullUpSense,
    judge_pull_up,
    sense_on_expander,
    sense_on_pin,
    sense_on_register,
    sense_through_multiplexer,
)
from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Judged, Verdict
from retrofit.circuits.sense.limits import LOW_MARGIN_GOOD_SHARE, LOW_MARGIN_SHARE
from retrofit.circuits.sense.logic_input import LogicInput, expander_input, pin_input, register_input
from retrofit.plan.sensing.candidates import Candidate as Circuit
from retrofit.plan.sensing.candidates import Surroundings
from retrofit.plan.sensing.candidates import candidates as circuits
from retrofit.plan.sensing.choose import choose, permitted_on_the_organs, ranked
from retrofit.plan.topologies.demand import Bench, Demand
from retrofit.plan.topologies.kinds import EXPANDERS, MATRICES, MULTIPLEXERS, Kind
from retrofit.plan.topologies.matrix_choice import matrix_for
from retrofit.plan.topologies.model import Refusal
from retrofit.survey.wiring import Owner
from retrofit.survey.wishes import Sense

SENSING = "circuit between line and input"
SENSOR_REMEDY = "use a spare contact, or a sensor of ours that touches no circuit"
_SIBLING, _SIBLINGS = "74hc4051", 2
"""A 16:1 multiplexer whose leakage is not printed is taken as two of the 8:1 part, of the same family."""


@dataclass(frozen=True, slots=True)
class Levels:
    """Judged figures of one way of reading; `circuit` is the sense circuit of a line that the organ owns."""

    judged: tuple[Judged, ...]
    assumptions: tuple[str, ...] = ()
    circuit: str = ""
    refusals: tuple[Refusal, ...] = ()
    remarks: tuple[str, ...] = ()


def contact_levels(kind: Kind, demand: Demand, bench: Bench) -> Levels:
    """Return the levels of a group's lines; unknown while nobody knows who owns them."""
    if demand.group.wiring.owner is Owner.UNKNOWN:
        return Levels((Judged(SENSING, None, missing="who owns the lines"),))
    if kind in MATRICES:
        return _matrix_levels(kind, demand, bench)
    if demand.group.wiring.owner is Owner.ORGAN:
        return _behind_a_circuit(kind, demand, bench)
    return _pulled_up(kind, demand, bench)


def _pulled_up(kind: Kind, demand: Demand, bench: Bench) -> Levels:
    """Return the levels of our own contacts, each to our return with a pull-up."""
    sense, assumed = _pull_up_sense(kind, bench)
    wiring = demand.group.wiring
    contact = bench.catalogue.contacts.get(wiring.contact)
    results = judge_pull_up(sense, contact_ohms=wiring.contact_resistance.value, contact=contact)
    good_from = 100 * (LOW_MARGIN_GOOD_SHARE - LOW_MARGIN_SHARE)
    judged = (
        Judged("low level", results.low_level, good_from=good_from),
        Judged("high level", results.high_level),
        Judged("contact resistance still read", results.contact_tolerance),
        Judged("voltage on an open contact", results.wetting_volts),
        Judged("current through a closed contact", results.wetting_current),
    )
    return Levels(judged, (*assumed, *results.low_level.assumptions))


def _pull_up_sense(kind: Kind, bench: Bench) -> tuple[PullUpSense, tuple[str, ...]]:
    if kind is Kind.CHAIN:
        return sense_on_register(bench.board, bench.register), ()
    if kind in EXPANDERS:
        return sense_on_expander(bench.board, bench.expander(kind)), ()
    if kind in MULTIPLEXERS:
        return _through_multiplexer(kind, bench)
    return sense_on_pin(bench.board, pull_up=Span.around(PULL_UP_OHMS, PULL_UP_TOLERANCE)), ()


def _through_multiplexer(kind: Kind, bench: Bench) -> tuple[PullUpSense, tuple[str, ...]]:
    parts = bench.catalogue.multiplexers
    part = parts[MULTIPLEXERS[kind]]
    sense = sense_through_multiplexer(bench.board, part)
    own = part.figures.get("off_leakage")
    if own is not None:
        return replace(sense, leakage_a=sense.leakage_a + own.greatest), ()
    leakage_a = _SIBLINGS * parts[_SIBLING].figures["off_leakage"].greatest
    words = f"the leakage of a {part.name} is taken as that of {_SIBLINGS} {parts[_SIBLING].name}"
    return replace(sense, leakage_a=sense.leakage_a + leakage_a), (words,)


def _matrix_levels(kind: Kind, demand: Demand, bench: Bench) -> Levels:
    """Return the levels of a matrix with the diodes that were found, else with Schottky diodes fitted."""
    matrix, design = matrix_for(kind, demand, bench)
    usual = matrix.pull_up_ohms == PULL_UP_OHMS
    words = f"its columns are pulled up by {matrix.pull_up_ohms / 1e3:g} kΩ, not by the usual {PULL_UP_OHMS / 1e3:g} kΩ"
    return Levels(design.judged, demand.assumed, remarks=() if usual else (words,))


def _behind_a_circuit(kind: Kind, demand: Demand, bench: Bench) -> Levels:
    """Return the levels behind the best circuit that this input permits on a line that the organ owns."""
    found = _circuits(kind, demand, bench)
    allowed = tuple(circuit for circuit in found if kind is Kind.CHAIN or circuit.sense is Sense.OPTOCOUPLER)
    chosen, _ = choose(ranked(allowed), demand.group.wanted.sense)
    if chosen is not None:
        return Levels(chosen.judged, circuit=chosen.circuit)
    reading = [circuit for circuit in allowed if circuit.sense is not Sense.SENSOR]
    if kind is Kind.CHAIN and any(circuit.design.verdict is not Verdict.FAILS for circuit in reading):
        return Levels((Judged(SENSING, None, missing="enough of a line to choose one"),))
    if kind is Kind.CHAIN:
        return Levels((), refusals=(Refusal(f"no circuit may read the line: {_against(reading)}", SENSOR_REMEDY),))
    found_words = f"its inputs are pulled up, so that only an optocoupler may stand before them: {_against(reading)}"
    return Levels((), refusals=(Refusal(found_words, "read it by the chain where a circuit permits, or fit a sensor"),))


def _circuits(kind: Kind, demand: Demand, bench: Bench) -> tuple[Circuit, ...]:
    """Return every circuit between the line and the input, worked out once for inputs with the same levels."""
    key = demand.group.id, "expander" if kind in EXPANDERS else "register" if kind is Kind.CHAIN else "pin"
    if key not in bench.circuits:
        around = Surroundings(
            behind=_input(kind, bench),
            contact=bench.catalogue.contacts.get(demand.group.wiring.contact),
            rail_load_a=bench.board.figures["own_current"].least,
            organ_supply_ohms=bench.supplies.ohms_behind(demand.group),
        )
        bench.circuits[key] = tuple(map(permitted_on_the_organs, circuits(demand.sensing.line, around)))
    return bench.circuits[key]


def _against(allowed: Sequence[Circuit]) -> str:
    """Return the first reason, or the first figure, that speaks against all of these circuits."""
    reasons = [reason for circuit in allowed for reason in circuit.design.refusals]
    failing = [judged.criterion for circuit in allowed for judged in circuit.design.judged if _fails(judged)]
    failed = [f"{criterion} breaks its limit" for criterion in failing]
    return next(iter((*reasons, *failed)), "too little of a line was read")


def _fails(judged: Judged) -> bool:
    return judged.result is not None and not judged.result.passes


def _input(kind: Kind, bench: Bench) -> LogicInput:
    if kind is Kind.CHAIN:
        return register_input(bench.board, bench.register)
    return expander_input(bench.board, bench.expander(kind)) if kind in EXPANDERS else pin_input(bench.board)
