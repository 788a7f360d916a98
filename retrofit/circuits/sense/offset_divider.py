"""A line that goes below our ground, lifted into the range of the input by a divider to a reference voltage."""

from __future__ import annotations

from dataclasses import replace

from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import SenseDesign
from retrofit.circuits.sense.divider import dead_rail_remark, kick_refusal, kick_unknown, most_volts, no_pair
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.swing import refusals_of_line, swing_of
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

CIRCUIT = "offset divider"


def design(
    line: Line,
    behind: LogicInput,
    *,
    reference: Span | None = None,
    rail_load_a: float | None = None,
    organ_supply_ohms: float | None = None,
    tolerance: float = RESISTOR_TOLERANCE,
) -> SenseDesign:
    """Return the offset divider for a negative, biased or bipolar line without audio and kicks.

    `reference` is the voltage at the far end of the second resistor with its tolerance; without one it is the supply
    of the input, which then moves with the input's limits.
    """
    swing = swing_of(line)
    refusals = (*refusals_of_line(line), *kick_refusal(line))
    if refusals:
        return refused(CIRCUIT, refusals, swing)
    if swing is None:
        return undecided(CIRCUIT, line)
    pair = choose_tap(swing, behind, reference, tolerance)
    if pair is None:
        return refused(CIRCUIT, (no_pair(swing, behind, "use a comparator"),), swing)
    network = network_of(pair, behind, reference, tolerance)
    far_end = "our supply" if reference is None else f"the reference of {reference.least:g} to {reference.greatest:g} V"
    parts = tap_parts(pair, behind, tolerance, most_volts(swing), lower_to=far_end)
    remarks = (reason_of(pair, network), *dead_rail_remark(network, swing, line.lines_at_once))
    found = tap_as_design(CIRCUIT, network, parts, line, swing, Surroundings(rail_load_a, organ_supply_ohms), remarks)
    return replace(found, judged=(*found.judged, *kick_unknown(line)))
