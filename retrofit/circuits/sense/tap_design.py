"""A tap worked out: its levels, clamps, delays and loads judged, and what the line feels of it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log

from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.back_feed import judge_back_feed
from retrofit.circuits.sense.design import Felt, Judged
from retrofit.circuits.sense.limits import (
    CLAMP_AMPS,
    HIGH_MARGIN_SHARE,
    KEY_LATENCY_GOOD_US,
    LOW_MARGIN_GOOD_SHARE,
    LOW_MARGIN_SHARE,
)
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.loading import (
    judge_current,
    judge_decay,
    judge_shift,
    judge_supply_change,
    parallel_ohms,
    release_after_decay_s,
)
from retrofit.circuits.sense.swing import State, Swing
from retrofit.circuits.sense.tap_network import (
    CLAMP_VOLTS,
    TapNetwork,
    level_margin,
    node_volts,
    worst_injection,
    worst_line_amps,
)

LOW_LEVEL, HIGH_LEVEL = "low level at the input", "high level at the input"
CLAMP_CURRENT, RAIL_CURRENT = "current through the clamp of one input", "clamp currents of all lines into our rail"
INPUT_DELAY, AUDIO = "delay of the network with the input's capacitance", "no audio on the line"
INPUT_DELAY_SHARE = 0.05
"""Most of a good key latency that the network may cost; common practice, no source."""
INPUT_DELAY_US = INPUT_DELAY_SHARE * KEY_LATENCY_GOOD_US


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What lies around a tap: the least current that our rail draws, the source resistance of the organ's supply.

    Each None when not known.
    """

    rail_load_a: float | None = None
    organ_supply_ohms: float | None = None


def judge_tap(network: TapNetwork, line: Line, swing: Swing, around: Surroundings) -> tuple[Judged, ...]:
    """Return every judged figure of a tap on a line."""
    amps, corner = _greatest_of_states(network, swing)
    off_amps, off_corner = _greatest_of_states(network, swing, powered=False)
    found = [
        judge_level(network, swing.low, high=False),
        judge_level(network, swing.high, high=True),
        *judge_clamps(network, swing, line.lines_at_once, around.rail_load_a),
        judge_current(line, amps, corner),
        judge_shift(network, swing.idle, swing.least_volts),
        judge_shift(network, swing.keyed, swing.least_volts),
        None if line.decay is None else judge_decay(line.decay, _least_input_ohms(network, swing)),
        judge_supply_change(line, amps, corner, around.organ_supply_ohms),
        judge_back_feed(line, off_amps, off_corner),
        judge_delay(network, swing),
        judge_audio(line),
    ]
    return tuple(judged for judged in found if judged is not None)


def judge_audio(line: Line) -> Judged | None:
    """Return the open question whether the line carries audio; None when that was answered."""
    if line.carries_audio is not None:
        return None
    return Judged(AUDIO, None, missing="whether the line carries audio")


def judge_level(network: TapNetwork, state: State, *, high: bool) -> Judged:
    """Return the margin of the level in one state, in percent of the supply."""
    name = HIGH_LEVEL if high else LOW_LEVEL
    found = level_margin(network, state, high=high)
    if found is None:
        return Judged(name, None, missing=f"the source resistance of the line, {state.name}")
    limit, good = (HIGH_MARGIN_SHARE,) * 2 if high else (LOW_MARGIN_SHARE, LOW_MARGIN_GOOD_SHARE)
    result = Result(found[0], 100 * limit, "% of supply", at_least=True, corner=found[1])
    return Judged(name, result, good_from=100 * (good - limit))


def judge_clamps(
    network: TapNetwork, swing: Swing, lines_at_once: int, rail_load_a: float | None
) -> tuple[Judged, Judged]:
    """Return the clamp current of one input, and of all inputs into our rail, which must draw more."""
    whole = Span(swing.low.volts.least, swing.high.volts.greatest)
    above, corner = worst_injection(network, whole, above=True)
    below, corner_below = worst_injection(network, whole, above=False)
    worst, worst_at = max((above, corner), (below, corner_below), key=lambda pair: pair[0])
    pin = Judged(CLAMP_CURRENT, Result(1e3 * worst, 1e3 * CLAMP_AMPS, "mA", at_least=False, corner=worst_at))
    if rail_load_a is None and above > 0:
        needed = 1e3 * above * lines_at_once
        return pin, Judged(RAIL_CURRENT, None, missing=f"the least current of our rail (it must draw {needed:.3g} mA)")
    corner = f"{corner}, {lines_at_once} lines at once"
    total = Result(1e3 * above * lines_at_once, 1e3 * (rail_load_a or 0.0), "mA", at_least=False, corner=corner)
    return pin, Judged(RAIL_CURRENT, total)


def judge_delay(network: TapNetwork, swing: Swing) -> Judged:
    """Return the slower of the two edges at the input against what a network may cost."""
    if network.behind.capacitance_pf is None:
        return Judged(INPUT_DELAY, None, missing=f"the capacitance of {network.behind.name}")
    slowest = max(edge_us(network, swing, rising=True), edge_us(network, swing, rising=False))
    if slowest == inf:
        return Judged(INPUT_DELAY, None, missing="levels that clear the input's thresholds")
    corner = f"{network.behind.capacitance_pf:g} pF"
    return Judged(INPUT_DELAY, Result(slowest, INPUT_DELAY_US, "µs", at_least=False, corner=corner))


def edge_us(network: TapNetwork, swing: Swing, *, rising: bool) -> float:
    """Return the greatest time from a step of the line to the threshold of the input; infinite when it never comes.

    0 while the capacitance of the input is unknown, which is judged apart.
    """
    behind = network.behind
    if behind.capacitance_pf is None:
        return 0.0
    state = swing.high if rising else swing.low
    source = inf if state.ohms is None else state.ohms.greatest
    ohms = parallel_ohms(source + network.series.greatest, network.lower.greatest)
    supply = behind.supply
    low, high = _extremes(network, swing)
    start, end = (low, high) if rising else (high, low)
    farthest = max(end.least if rising else end.greatest, -CLAMP_VOLTS.greatest)
    begin = max(start.least, -CLAMP_VOLTS.greatest) if rising else min(
        start.greatest, supply.greatest + CLAMP_VOLTS.greatest
    )
    threshold = max(map(behind.vih, _ends(supply))) if rising else min(map(behind.vil, _ends(supply)))
    if (farthest <= threshold) if rising else (farthest >= threshold):
        return inf
    past = (begin - farthest) / (threshold - farthest)
    return 1e6 * ohms * behind.capacitance_pf * 1e-12 * log(max(1.0, past))
