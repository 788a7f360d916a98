"""Every sense circuit, worked out for a line: those for lines of ours, those for lines of the organ."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from retrofit.catalogue.parts import Contact
from retrofit.circuits.result import Span
from retrofit.circuits.sense import (
    buffer,
    comparator,
    diode_matrix,
    divider,
    non_contact,
    offset_divider,
    optocoupler,
    pull_down,
    pull_up,
    ripple_bridging,
    spike_rated,
)
from retrofit.circuits.sense.design import SenseDesign
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.matrix_network import Matrix
from retrofit.circuits.sense.tap_choice import NOT_FELT
from retrofit.circuits.sense.tap_network import TapNetwork, line_threshold
from retrofit.survey.wishes import Sense

GAPS = "the supply falls to nothing between half waves: the gaps must be bridged, or every note stutters"

NEAR_RETURN_VOLTS = 0.3
"""A line that goes no further below its return than a silicon clamp just begins to feel; common practice, no source."""
POSITIVE = "the line never goes far enough below the organ's return: a plain divider loads it less"


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What lies around a line: the input behind the circuit, the kind of contact, and what is known of the supplies.

    `matrix` is set where the contacts are read as a matrix, `listened` where the organ scans them, `converter` where
    the line is no contact but a position that a converter reads.  `rail_load_a` is the least current that our rail
    draws, `organ_supply_ohms` the greatest source resistance of the organ's supply; both None while unknown.
    """

    behind: LogicInput
    contact: Contact | None = None
    matrix: Matrix | None = None
    converter: buffer.Converter | None = None
    listened: Callable[[Line], SenseDesign] | None = None
    rail_load_a: float | None = None
    organ_supply_ohms: float | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """A circuit worked out, and the wish that it fulfils."""

    sense: Sense
    design: SenseDesign


def candidates(line: Line, around: Surroundings) -> tuple[Candidate, ...]:
    """Return every circuit that could be thought of for a line, worked out; refusals stand in the designs."""
    if around.matrix is not None:
        return (Candidate(Sense.PULL_UP, diode_matrix.design(line, around.behind, matrix=around.matrix)),)
    if around.listened is not None:
        return (Candidate(Sense.UNKNOWN, around.listened(line)),)
    if around.converter is not None:
        return (Candidate(Sense.UNKNOWN, _buffer(line, around, around.converter)),)
    circuits = _ON_OURS if line.ours else _ON_THE_ORGANS
    return tuple(Candidate(sense, design(line, around)) for sense, design in circuits)


def _buffer(line: Line, around: Surroundings, converter: buffer.Converter) -> SenseDesign:
    behind = buffer.buffer_input(around.behind.supply)
    return buffer.design(line, behind, converter=converter, organ_supply_ohms=around.organ_supply_ohms)


def _pull_up(line: Line, around: Surroundings) -> SenseDesign:
    return pull_up.design(line, around.behind, contact=around.contact)


def _pull_down(line: Line, around: Surroundings) -> SenseDesign:
    return pull_down.design(line, around.behind, contact=around.contact)


def _sensor(line: Line, around: Surroundings) -> SenseDesign:
    return non_contact.design(line, around.behind)


def _optocoupler(line: Line, around: Surroundings) -> SenseDesign:
    if line.ripple is not None:
        return ripple_bridging.design(line, around.behind, organ_supply_ohms=around.organ_supply_ohms)
    return optocoupler.design(line, around.behind, organ_supply_ohms=around.organ_supply_ohms)


def _divider(line: Line, around: Surroundings) -> SenseDesign:
    plain = divider.design(
        line, around.behind, rail_load_a=around.rail_load_a, organ_supply_ohms=around.organ_supply_ohms
    )
    if line.ripple is None or plain.refusals or not plain.parts:
        return plain
    return ripple_bridging.design(line, around.behind, inner=plain, thresholds=_thresholds(plain, around.behind))


def _thresholds(plain: SenseDesign, behind: LogicInput) -> Span:
    """Return the line volts below which a divider surely reads low, and above which it surely reads high."""
    series, lower = (Span.around(part.value, part.tolerance) for part in plain.parts[:2])
    network = TapNetwork(series, lower, divider.GROUND, behind)
    return Span(line_threshold(network, low=True), line_threshold(network, low=False))


def _offset_divider(line: Line, around: Surroundings) -> SenseDesign:
    """Return the offset divider, which is not worked out for a line that stays on the positive side."""
    volts = [span.least for span in (line.idle_volts, line.keyed_volts) if span is not None]
    if len(volts) == 2 and min(volts) >= -NEAR_RETURN_VOLTS and not line.carries_audio:
        return SenseDesign(offset_divider.CIRCUIT, True, None, (), (), NOT_FELT, refusals=(POSITIVE,))
    return _tap(offset_divider.design)(line, around)


def _tap(circuit: Callable[..., SenseDesign]) -> Callable[[Line, Surroundings], SenseDesign]:
    """Return a tap circuit that knows nothing of gaps, refused on a supply that has them."""

    def design(line: Line, around: Surroundings) -> SenseDesign:
        found = circuit(line, around.behind, rail_load_a=around.rail_load_a, organ_supply_ohms=around.organ_supply_ohms)
        return found if line.ripple is None else replace(found, refusals=(*found.refusals, GAPS))

    return design


_Circuits = tuple[tuple[Sense, Callable[[Line, Surroundings], SenseDesign]], ...]

_ON_OURS: _Circuits = ((Sense.PULL_UP, _pull_up), (Sense.PULL_DOWN, _pull_down))
_ON_THE_ORGANS: _Circuits = (
    (Sense.DIVIDER, _divider),
    (Sense.OFFSET_DIVIDER, _offset_divider),
    (Sense.COMPARATOR, _tap(comparator.design)),
    (Sense.SPIKE_RATED, _tap(spike_rated.design)),
    (Sense.OPTOCOUPLER, _optocoupler),
    (Sense.SENSOR, _sensor),
    (Sense.PULL_UP, _pull_up),
    (Sense.PULL_DOWN, _pull_down),
)


_WISHES: Mapping[str, Sense] = {
    divider.CIRCUIT: Sense.DIVIDER,
    offset_divider.CIRCUIT: Sense.OFFSET_DIVIDER,
    comparator.CIRCUIT: Sense.COMPARATOR,
    spike_rated.CIRCUIT: Sense.SPIKE_RATED,
    optocoupler.CIRCUIT: Sense.OPTOCOUPLER,
    non_contact.CIRCUIT: Sense.SENSOR,
    pull_up.CIRCUIT: Sense.PULL_UP,
    pull_down.CIRCUIT: Sense.PULL_DOWN,
    diode_matrix.CIRCUIT: Sense.PULL_UP,
}


def wish_for(design: SenseDesign) -> Sense:
    """Return the wish that a circuit fulfils; unknown for those that nobody can wish for."""
    return _WISHES.get(design.circuit.removesuffix(ripple_bridging.BRIDGED), Sense.UNKNOWN)
