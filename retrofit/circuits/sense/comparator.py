"""A line compared with a threshold midway between its states, where no divider alone reaches the input's limits.

The tap feeds the inverting input; the threshold comes from our supply, moved a little by the output (hysteresis):

    supply ── upper ──┬── lower ── ground        output ── feedback ──┘ (the threshold)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import product

from retrofit.circuits.eseries_values import Series, nearest
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span, worst_corner
from retrofit.circuits.sense.design import Judged, Part, SenseDesign
from retrofit.circuits.sense.divider import GROUND, dead_rail_remark, kick_refusal, kick_unknown, most_volts, no_pair
from retrofit.circuits.sense.limits import HIGH_MARGIN_SHARE, LOW_MARGIN_GOOD_SHARE, LOW_MARGIN_SHARE
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.resistor_bodies import BODIES
from retrofit.circuits.sense.swing import Swing, refusals_of_line, swing_of
from retrofit.circuits.sense.tap_choice import (
    RESISTOR_TOLERANCE,
    choose_tap,
    network_of,
    reason_of,
    refused,
    tap_as_design,
    tap_parts,
    undecided,
)
from retrofit.circuits.sense.tap_design import Surroundings
from retrofit.circuits.sense.tap_network import TapNetwork, level_span

CIRCUIT = "comparator with its threshold between the states"
OUTPUT_LOW, OUTPUT_HIGH = "low level behind the comparator", "high level behind the comparator"
COMMON_MODE, LOWEST = "room above the threshold for the comparator's inputs", "lowest level at the comparator's input"
LEAST_INPUT_VOLTS = -0.3
"""Below this the output of common comparators may turn over; from memory."""
PULL_UP_OHMS, FEEDBACK_OHMS, LOWER_OHMS = 10e3, 1e6, 20e3
_WANTED_SHARE = 0.5
REMEDY = "move the tap, or use a sensor that touches nothing"


@dataclass(frozen=True, slots=True)
class Comparator:
    """A comparator with an open collector: worst offset, bias, room wanted above its inputs, low level, leakage."""

    name: str
    offset_volts: float
    bias_a: float
    headroom_volts: float
    low_volts: float
    output_leakage_a: float
    capacitance_pf: float


DUAL_COMPARATOR = Comparator("dual comparator with open collectors", 9e-3, 400e-9, 2.0, 0.7, 1e-6, 10.0)
"""Limits of the common dual type over its temperature range; from memory."""


@dataclass(frozen=True, slots=True)
class Threshold:
    """The three resistors that make the threshold, at their tolerance."""

    upper: Span
    lower: Span
    feedback: Span

    def volts(self, supply: float, output: float) -> Span:
        """Return the least and greatest threshold at a supply and an output voltage (Millman's theorem)."""
        ends = product(*((span.least, span.greatest) for span in (self.upper, self.lower, self.feedback)))
        found = [threshold_volts(supply, output, *ohms) for ohms in ends]
        return Span(min(found), max(found))


def threshold_volts(supply: float, output: float, upper: float, lower: float, feedback: float) -> float:
    """Return the threshold: (VDD/Ra + Vout/Rf)/(1/Ra + 1/Rb + 1/Rf)."""
    return (supply / upper + output / feedback) / (1 / upper + 1 / lower + 1 / feedback)


def choose_threshold(supply: Span, part: Comparator, tolerance: float) -> tuple[Threshold, float]:
    """Return the threshold nearest to half the supply that leaves the comparator its room, and its upper resistor."""
    room = supply.least - part.headroom_volts - part.offset_volts
    share = min(_WANTED_SHARE, 0.95 * room / supply.least)
    ohms = nearest(Series.E24, LOWER_OHMS * (1 / max(share, 0.05) - 1))
    spans = (Span.around(value, tolerance) for value in (ohms, LOWER_OHMS, FEEDBACK_OHMS))
    return Threshold(*spans), ohms


def comparator_input(supply: Span, threshold: Threshold, part: Comparator) -> LogicInput:
    """Return the comparator's input as an input with two limits: the threshold at its worst, and the offset."""
    return LogicInput(
        name=f"the {part.name}",
        supply=supply,
        vil=lambda volts: threshold.volts(volts, 0.0).least - part.offset_volts,
        vih=lambda volts: threshold.volts(volts, volts).greatest + part.offset_volts,
        leakage_a=part.bias_a,
        clamp=False,
        capacitance_pf=part.capacitance_pf,
        schmitt=True,
    )


def design(
    line: Line,
    behind: LogicInput,
    *,
    part: Comparator = DUAL_COMPARATOR,
    rail_load_a: float | None = None,
    organ_supply_ohms: float | None = None,
    tolerance: float = RESISTOR_TOLERANCE,
) -> SenseDesign:
    """Return the comparator for a line without audio and kicks; its output drives `behind` and reads the other way."""
    swing = swing_of(line)
    refusals = (*refusals_of_line(line), *kick_refusal(line))
    if refusals:
        return refused(CIRCUIT, refusals, swing)
    if swing is None:
        return undecided(CIRCUIT, line)
    threshold, upper_ohms = choose_threshold(behind.supply, part, tolerance)
    compared = comparator_input(behind.supply, threshold, part)
    reference = None if swing.low.volts.least < 0 else GROUND
    pair = choose_tap(swing, compared, reference, tolerance, floor_volts=LEAST_INPUT_VOLTS)
    if pair is None:
        return refused(CIRCUIT, (no_pair(swing, compared, REMEDY),), swing)
    network = network_of(pair, compared, reference, tolerance)
    lower_to = "our supply" if reference is None else "our ground"
    parts = (
        *tap_parts(pair, compared, tolerance, most_volts(swing), lower_to=lower_to),
        *_threshold_parts(upper_ohms, tolerance, part),
    )
    remarks = (reason_of(pair, network), *dead_rail_remark(network, swing, line.lines_at_once))
    found = tap_as_design(CIRCUIT, network, parts, line, swing, Surroundings(rail_load_a, organ_supply_ohms), remarks)
    judged = (*found.judged, *kick_unknown(line), judge_lowest(network, swing), *judge_output(behind, threshold, part))
    return replace(found, judged=judged, keyed_reads_high=not swing.keyed_high)


def _threshold_parts(upper_ohms: float, tolerance: float, part: Comparator) -> tuple[Part, ...]:
    rating = BODIES[0].words
    places = {
        "from our supply to the threshold": upper_ohms,
        "from the threshold to ground": LOWER_OHMS,
        "from the output to the threshold": FEEDBACK_OHMS,
        "from our supply to the output": PULL_UP_OHMS,
    }
    resistors = (Part(role, "resistor", ohms, "Ω", tolerance, rating) for role, ohms in places.items())
    return Part("between the tap and the input", part.name, 0.5, "pieces", 0.0), *resistors


def _lowest(network: TapNetwork, swing: Swing) -> float:
    return level_span(network, swing.low).least


def judge_lowest(network: TapNetwork, swing: Swing) -> Judged:
    """Return the lowest level at the comparator's input, below which its output may be wrong."""
    corner = f"line {quantity(swing.low.volts.least, 'V')}"
    result = Result(_lowest(network, swing), LEAST_INPUT_VOLTS, "V", at_least=True, corner=corner)
    return Judged(LOWEST, result)


def judge_output(behind: LogicInput, threshold: Threshold, part: Comparator) -> tuple[Judged, ...]:
    """Return the levels that the comparator gives the input, and the room above its threshold."""
    leakage_a, feedback = part.output_leakage_a + behind.leakage_a, threshold.feedback.least

    def low(supply: float) -> float:
        return 100 * (behind.vil(supply) - part.low_volts) / supply

    def high(supply: float) -> float:
        lost = PULL_UP_OHMS * (1 + RESISTOR_TOLERANCE) * (leakage_a + supply / feedback)
        return 100 * (supply - lost - behind.vih(supply)) / supply

    def room(supply: float) -> float:
        return supply - threshold.volts(supply, supply).greatest - part.offset_volts

    good_from = 100 * (LOW_MARGIN_GOOD_SHARE - LOW_MARGIN_SHARE)
    return (
        replace(_judged(OUTPUT_LOW, low, behind.supply, 100 * LOW_MARGIN_SHARE, "% of supply"), good_from=good_from),
        _judged(OUTPUT_HIGH, high, behind.supply, 100 * HIGH_MARGIN_SHARE, "% of supply"),
        _judged(COMMON_MODE, room, behind.supply, part.headroom_volts, "V"),
    )


def _judged(name: str, compute: Callable[[float], float], supply: Span, limit: float, unit: str) -> Judged:
    value, corner = worst_corner(compute, lowest=True, units={"supply": "V"}, supply=supply)
    return Judged(name, Result(value, limit, unit, at_least=True, corner=corner))
