"""A tap worked out: its levels, clamps, delays and loads judged, and what the line feels of it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log

from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.audio import audio_unknown
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
    level_span,
    line_threshold,
    worst_injection,
    worst_line_amps,
)

LOW_LEVEL, HIGH_LEVEL = "low level at the input", "high level at the input"
CLAMP_CURRENT, RAIL_CURRENT = "current through the clamp of one input", "clamp currents of all lines into our rail"
INPUT_DELAY = "delay of the network with the input's capacitance"
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
    off = {
        state.name: worst_line_amps(network, state.volts, state.ohms, powered=False)
        for state in (swing.idle, swing.keyed)
    }
    found = [
        judge_level(network, swing.low, high=False),
        judge_level(network, swing.high, high=True),
        *judge_clamps(network, swing, line.lines_at_once, around.rail_load_a),
        judge_current(line, amps, corner),
        judge_shift(network, swing.idle, swing.least_volts),
        judge_shift(network, swing.keyed, swing.least_volts),
        None if line.decay is None else judge_decay(line.decay, _least_input_ohms(network, swing)),
        judge_supply_change(line, amps, corner, around.organ_supply_ohms),
        judge_back_feed(line, swing, off),
        judge_delay(network, swing),
        *audio_unknown(line),
    ]
    return tuple(judged for judged in found if judged is not None)


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
    slowest = max(edge_us(network, swing.low, swing.high), edge_us(network, swing.high, swing.low))
    if slowest == inf:
        return Judged(INPUT_DELAY, None, missing="levels that clear the input's thresholds")
    corner = f"{network.behind.capacitance_pf:g} pF"
    return Judged(INPUT_DELAY, Result(slowest, INPUT_DELAY_US, "µs", at_least=False, corner=corner))


def edge_us(network: TapNetwork, start: State, end: State) -> float:
    """Return the greatest time from a step of the line to the input's threshold; infinite when it is not reached.

    0 while the capacitance of the input is unknown, which is judged apart.
    """
    behind = network.behind
    if behind.capacitance_pf is None:
        return 0.0
    source = inf if end.ohms is None else end.ohms.greatest
    ohms = parallel_ohms(source + network.series.greatest, network.lower.greatest)
    begin, settled, threshold = _edge_volts(network, start, end)
    if (settled - threshold) * (begin - threshold) >= 0:
        return inf if (settled - threshold) * (settled - begin) <= 0 else 0.0
    return 1e6 * ohms * behind.capacitance_pf * 1e-12 * log((begin - settled) / (threshold - settled))


def _edge_volts(network: TapNetwork, start: State, end: State) -> tuple[float, float, float]:
    """Return the slowest beginning and end of an edge at the input, and the threshold between them."""
    behind = network.behind
    before, after = level_span(network, start), level_span(network, end)
    ends = (behind.supply.least, behind.supply.greatest)
    if end.volts.least > start.volts.greatest:
        return max(before.least, -CLAMP_VOLTS.greatest), after.least, max(map(behind.vih, ends))
    begin = min(before.greatest, behind.supply.greatest + CLAMP_VOLTS.greatest)
    return begin, after.greatest, min(map(behind.vil, ends))


def press_and_release_us(network: TapNetwork, line: Line, swing: Swing) -> tuple[float, float] | None:
    """Return the greatest delays of press and release, a decay capacitor included; None if one never comes."""
    press, release = edge_us(network, swing.idle, swing.keyed), edge_us(network, swing.keyed, swing.idle)
    late = late_release_us(network, line, swing)
    if late is None or inf in (press, release):
        return None
    return press, release + late


def late_release_us(network: TapNetwork, line: Line, swing: Swing) -> float | None:
    """Return how long a decay capacitor holds the released line beyond the threshold; None when for ever."""
    if line.decay is None:
        return 0.0
    threshold = line_threshold(network, low=swing.keyed_high)
    found = release_after_decay_s(line.decay, network.lightest_ohms, swing.keyed.volts, swing.idle.volts, threshold)
    return None if found is None else 1e6 * found[0]


def what_the_line_feels(network: TapNetwork, swing: Swing) -> Felt:
    """Return the currents of a line with our board on, off, adrift and with its input shorted, in microamperes."""
    keyed = worst_line_amps(network, swing.keyed.volts, swing.keyed.ohms)[0]
    idle = worst_line_amps(network, swing.idle.volts, swing.idle.ohms)[0]
    off = _greatest_of_states(network, swing, powered=False)[0]
    apart = swing.high.volts.greatest - swing.low.volts.least
    adrift = max((worst_line_amps(network, Span.exact(volts), None)[0] for volts in (apart, -apart)), key=abs)
    ends = (swing.low.volts.least, swing.high.volts.greatest)
    shorted = max((volts / network.series.least for volts in ends), key=abs)
    rail = network.behind.supply
    to_rail = max(((ends[0] - rail.greatest), (ends[1] - rail.least)), key=abs) / network.series.least
    return Felt(*(1e6 * amps for amps in (keyed, idle, off, adrift, shorted, to_rail)))


def _greatest_of_states(network: TapNetwork, swing: Swing, *, powered: bool = True) -> tuple[float, str]:
    found = [worst_line_amps(network, state.volts, state.ohms, powered=powered) for state in (swing.keyed, swing.idle)]
    return max(found, key=lambda pair: abs(pair[0]))


def _least_input_ohms(network: TapNetwork, swing: Swing) -> float:
    """Return the least ratio of the line's volts to the current that it gives, never above the two resistors."""
    state = max((swing.keyed, swing.idle), key=_farthest_volts)
    amps = abs(worst_line_amps(network, state.volts, state.ohms)[0])
    return min(network.lightest_ohms.least, _farthest_volts(state) / amps if amps else inf)


def _farthest_volts(state: State) -> float:
    return max(abs(state.volts.least), abs(state.volts.greatest))
