"""A line across an inductive load: a divider whose series resistors bear the kick, with clamps after them."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import Judged, SenseDesign
from retrofit.circuits.sense.divider import GROUND, below_ground, dead_rail_remark, no_pair
from retrofit.circuits.sense.limits import CLAMP_AMPS, DISSIPATION_SHARE, KICK_FACTOR
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.pair_choice import Pair
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
from retrofit.circuits.sense.tap_network import TapNetwork, worst_injection

CIRCUIT = "divider with spike-rated series resistors"
RATING, KICK_CLAMP = "volts across each series resistor at the kick", "current through the clamp at the kick"
KICK_POWER = "power in each series resistor if the kick never ended"
NO_KICK = "the line has no kick: use the high-impedance divider"


def resistors_in_series(kick_volts: float, line_volts: float, rated_volts: float) -> int:
    """Return how many equal resistors bear 1.5 times the kick, on top of the line, at their rated volts each."""
    return max(1, ceil(KICK_FACTOR * (kick_volts + line_volts) / rated_volts))


def kick_joules(volts: float, ohms: float, seconds: float) -> float:
    """Return the energy in a resistor that bears a rectangular kick: V²·t/R, from above for any other shape."""
    return volts**2 * seconds / ohms


def design(
    line: Line,
    behind: LogicInput,
    *,
    rail_load_a: float | None = None,
    organ_supply_ohms: float | None = None,
    tolerance: float = RESISTOR_TOLERANCE,
) -> SenseDesign:
    """Return the divider for a line that kicks; the kick must have been measured or stated."""
    swing = swing_of(line)
    refusals = (*refusals_of_line(line), *((NO_KICK,) if line.kick_volts == 0 else ()))
    if refusals:
        return refused(CIRCUIT, refusals, swing)
    if swing is None:
        return undecided(CIRCUIT, line)
    if line.kick_volts is None:
        missing = "how far the line kicks when its load is opened"
        return replace(undecided(CIRCUIT, line), judged=(Judged(RATING, None, missing=missing),))
    kicked = _with_kick(swing, line.kick_volts)
    farthest = max(abs(kicked.least), abs(kicked.greatest))
    pieces = resistors_in_series(farthest, 0.0, BODIES[0].volts)
    pair = choose_tap(swing, behind, GROUND, tolerance, pieces=pieces)
    if pair is None:
        return refused(CIRCUIT, (no_pair(swing, behind, "use a comparator behind the same series resistors"),), swing)
    network = network_of(pair, behind, GROUND, tolerance)
    below = below_ground(network, swing)
    if below:
        return refused(CIRCUIT, below, swing)
    parts = tap_parts(pair, behind, tolerance, farthest, lower_to="our ground")
    remarks = (reason_of(pair, network), *dead_rail_remark(network, swing, line.lines_at_once))
    found = tap_as_design(CIRCUIT, network, parts, line, swing, Surroundings(rail_load_a, organ_supply_ohms), remarks)
    return replace(found, judged=(*found.judged, *judge_kick(network, pair, kicked)))


def _with_kick(swing: Swing, kick_volts: float) -> Span:
    """Return the line's volts with a kick of either sign."""
    return Span(swing.low.volts.least - kick_volts, swing.high.volts.greatest + kick_volts)


def judge_kick(network: TapNetwork, pair: Pair, kicked: Span) -> tuple[Judged, ...]:
    """Return the volts and power of each series resistor, and the clamp current, with the line at its kick."""
    farthest = max(abs(kicked.least), abs(kicked.greatest))
    body, corner = BODIES[0], f"line {quantity(farthest, 'V')}, {pair.pieces} in series"
    uneven = 2 * network.series.greatest / (network.series.greatest + network.series.least)
    volts = KICK_FACTOR * farthest * uneven / pair.pieces
    watts = farthest**2 * uneven / network.series.least / pair.pieces
    above = worst_injection(network, kicked, above=True)
    below = worst_injection(network, kicked, above=False)
    amps, amps_corner = max(above, below, key=lambda pair: pair[0])
    return (
        Judged(RATING, Result(volts, body.volts, "V", at_least=False, corner=f"{corner}, × {KICK_FACTOR:g}")),
        Judged(KICK_POWER, Result(watts, DISSIPATION_SHARE * body.watts, "W", at_least=False, corner=corner)),
        Judged(KICK_CLAMP, Result(1e3 * amps, 1e3 * CLAMP_AMPS, "mA", at_least=False, corner=amps_corner)),
    )
