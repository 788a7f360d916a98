"""Listening to a keyboard that is scanned already: high-impedance inputs on its returns, sampled with its strobes."""

from __future__ import annotations

from dataclasses import replace

from retrofit.catalogue.parts import Cable
from retrofit.circuits.eseries_values import Series, values_between
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import Judged, SenseDesign
from retrofit.circuits.sense.limits import HIGH_MARGIN_SHARE, LOW_MARGIN_SHARE
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.pair_choice import Pair
from retrofit.circuits.sense.strobe_window import Strobes, judge_window
from retrofit.circuits.sense.swing import Swing, refusals_of_line, swing_of
from retrofit.circuits.sense.tap_choice import NOT_FELT, RESISTOR_TOLERANCE, network_of, refused, tap_parts
from retrofit.circuits.sense.tap_design import edge_us, judge_clamps, judge_level, what_the_line_feels
from retrofit.circuits.sense.tap_network import CLAMP_VOLTS, TapNetwork, least_margin, worst_line_amps

CIRCUIT = "synchronous listening to strobes that are there"
LISTENING_AMPS = 50e-6
"""Most that listening may take of a scanned line; common practice, no source."""
ADDED_PICOFARADS = 100.0
"""Most capacitance that listening may add to a scanned line; common practice, no source."""
CURRENT, CURRENT_OFF = "current that listening takes of a line", "the same while our supply is off"
CAPACITANCE = "capacitance that listening adds to a line"

_GROUND = Span.exact(0.0)
_LEAST_OHMS = 10e3
"""Below this a line is not merely listened to; common practice, no source."""
_SPREAD = 30.0
"""Resistors within this factor of the least series resistor are tried."""


def design(
    line: Line,
    behind: LogicInput,
    *,
    strobes: Strobes,
    cable: Cable,
    lead_m: float | None = None,
    sample_late_us: float | None = None,
    rail_load_a: float | None = None,
) -> SenseDesign:
    """Return the inputs for a scanned keyboard whose returns stay on the positive side of our ground.

    `lead_m` is the lead from the line to our resistors, `sample_late_us` how much later than meant a sample may come,
    `rail_load_a` the least current of our rail; each None when unknown.
    """
    scanned = _as_line(line, strobes)
    swing, refusals = swing_of(scanned), refusals_of_line(scanned)
    if refusals:
        return refused(CIRCUIT, refusals, swing)
    added = _judge_capacitance(cable, lead_m)
    if swing is None:
        judged = (judge_window(strobes, None, sample_late_us), added)
        missing = Judged(
            CURRENT, None, missing="the levels of a return line, with an oscilloscope: a meter shows their mean"
        )
        return SenseDesign(CIRCUIT, True, None, (), (missing, *judged), NOT_FELT)
    pair = _choose(swing, behind)
    if pair is None:
        return refused(CIRCUIT, (_no_pair(swing, behind),), swing)
    network = _network(pair, behind)
    settled_us = _settle_us(pair, behind, swing, None if lead_m is None else lead_m * _picofarads(cable))
    return SenseDesign(
        circuit=CIRCUIT,
        looks_only=True,
        keyed_reads_high=swing.keyed_high,
        parts=tap_parts(pair, behind, RESISTOR_TOLERANCE, _most_volts(swing), lower_to="our ground"),
        judged=(
            judge_level(network, swing.low, high=False),
            judge_level(network, swing.high, high=True),
            _judge_current(network, swing, powered=True),
            _judge_current(network, swing, powered=False),
            *judge_clamps(network, swing, line.lines_at_once, rail_load_a),
            added,
            judge_window(strobes, settled_us, sample_late_us),
        ),
        felt=what_the_line_feels(network, swing),
        press_delay_us=_scan_us(strobes),
        release_delay_us=_scan_us(strobes),
        remarks=(
            "the strobes themselves are listened to in the same way and start each sample; no second scan is laid "
            "across the first",
        ),
    )


def settle_us(line: Line, behind: LogicInput, *, strobes: Strobes, cable: Cable, lead_m: float | None) -> float | None:
    """Return how long our input takes at most to follow a scanned line; None where too little of it is known."""
    swing = swing_of(_as_line(line, strobes))
    pair = None if swing is None else _choose(swing, behind)
    if swing is None or pair is None or lead_m is None:
        return None
    return _settle_us(pair, behind, swing, lead_m * _picofarads(cable))


def _as_line(line: Line, strobes: Strobes) -> Line:
    return replace(
        line,
        idle_volts=strobes.idle_volts,
        keyed_volts=strobes.strobed_volts,
        idle_ohms=strobes.source_ohms,
        keyed_ohms=strobes.source_ohms,
    )


def _most_volts(swing: Swing) -> float:
    return max(abs(swing.low.volts.least), abs(swing.high.volts.greatest))


def _network(pair: Pair, behind: LogicInput) -> TapNetwork:
    return network_of(pair, behind, _GROUND, RESISTOR_TOLERANCE)


def _choose(swing: Swing, behind: LogicInput) -> Pair | None:
    """Return the quickest pair within the current allowed: the least series resistor, with the least partner."""
    least = max(_LEAST_OHMS, (_most_volts(swing) - CLAMP_VOLTS.least) / LISTENING_AMPS)
    values = values_between(Series.E24, least / _SPREAD, least * _SPREAD)
    pairs = (Pair(series, lower, "E24") for series in values if series >= least for lower in values)
    possible = (pair for pair in pairs if _may_fit(pair, swing, behind))
    return next((pair for pair in possible if _fits(_network(pair, behind), swing)), None)


def _may_fit(pair: Pair, swing: Swing, behind: LogicInput) -> bool:
    """Return whether a pair clears both limits at the least supply even without leakage; the rest need not be tried."""
    share, supply = pair.lower / (pair.series + pair.lower), behind.supply.least
    return swing.high.volts.least * share > behind.vih(supply) and swing.low.volts.greatest * share < behind.vil(supply)


def _fits(network: TapNetwork, swing: Swing) -> bool:
    return (
        least_margin(network, swing.high, high=True) >= 100 * HIGH_MARGIN_SHARE
        and least_margin(network, swing.low, high=False) >= 100 * LOW_MARGIN_SHARE
        and all(_greatest_amps(network, swing, powered=powered)[0] <= LISTENING_AMPS for powered in (True, False))
    )


def _greatest_amps(network: TapNetwork, swing: Swing, *, powered: bool) -> tuple[float, str]:
    found = [worst_line_amps(network, state.volts, state.ohms, powered=powered) for state in (swing.idle, swing.keyed)]
    amps, corner = max(found, key=lambda pair: abs(pair[0]))
    return abs(amps), corner


def _settle_us(pair: Pair, behind: LogicInput, swing: Swing, lead_pf: float | None) -> float | None:
    """Return the slower edge at the input, the lead's capacitance counted as if it lay behind our resistors too.

    None while a capacitance or the line's resistance is unknown.
    """
    if behind.capacitance_pf is None or lead_pf is None or swing.keyed.ohms is None:
        return None
    network = _network(pair, replace(behind, capacitance_pf=behind.capacitance_pf + lead_pf))
    return max(edge_us(network, swing.idle, swing.keyed), edge_us(network, swing.keyed, swing.idle))


def _judge_current(network: TapNetwork, swing: Swing, *, powered: bool) -> Judged:
    amps, corner = _greatest_amps(network, swing, powered=powered)
    result = Result(1e6 * amps, 1e6 * LISTENING_AMPS, "µA", at_least=False, corner=corner)
    return Judged(CURRENT if powered else CURRENT_OFF, result)


def _judge_capacitance(cable: Cable, lead_m: float | None) -> Judged:
    """Return what hangs on the line before our series resistor: the lead; what is behind it is held off by it."""
    per_metre = _picofarads(cable)
    if lead_m is None:
        longest = 100 * ADDED_PICOFARADS / per_metre
        return Judged(CAPACITANCE, None, missing=f"the length of the lead to our resistors (up to {longest:.0f} cm)")
    corner = f"{100 * lead_m:g} cm of {cable.name}"
    return Judged(CAPACITANCE, Result(per_metre * lead_m, ADDED_PICOFARADS, "pF", at_least=False, corner=corner))


def _picofarads(cable: Cable) -> float:
    return cable.picofarads_per_metre.greatest


def _scan_us(strobes: Strobes) -> float:
    """Return how late a change may be seen: one whole scan, 0 while its period is unknown, which is judged apart."""
    return 0.0 if strobes.period_us is None else strobes.period_us.greatest


def _no_pair(swing: Swing, behind: LogicInput) -> str:
    return (
        f"no two resistors within {quantity(LISTENING_AMPS, 'A')} bring {quantity(swing.low.volts.greatest, 'V')} and "
        f"{quantity(swing.high.volts.least, 'V')} clear of the limits of {behind.name}: "
        "put buffers or comparators at the tap"
    )
