"""A voltage that means a position (a shoe), read through a buffer of very high resistance by a converter.

A divider of 10 MΩ brings the voltage into the converter's range ahead of the buffer.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log2

from retrofit.circuits.eseries_values import Series, next_below
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span, worst_corner
from retrofit.circuits.sense.audio import audio_unknown
from retrofit.circuits.sense.back_feed import judge_back_feed
from retrofit.circuits.sense.design import Judged, Part, SenseDesign
from retrofit.circuits.sense.divider import GROUND, kick_refusal, kick_unknown, most_volts
from retrofit.circuits.sense.limits import LOADING_SHARE
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.loading import judge_current, judge_shift, judge_supply_change, parallel_ohms
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.pair_choice import Pair
from retrofit.circuits.sense.swing import Swing, refusals_of_line, swing_of
from retrofit.circuits.sense.tap_choice import RESISTOR_TOLERANCE, network_of, refused, tap_parts, undecided
from retrofit.circuits.sense.tap_design import what_the_line_feels
from retrofit.circuits.sense.tap_network import TapNetwork, worst_line_amps

CIRCUIT = "high-impedance buffer to a converter"
RANGE, STEPS = "greatest volts at the converter", "clean steps over the whole movement"
BIAS = "shift of the level by the buffer's own current"
SERIES_OHMS = 10e6
GREATEST_SCALE = 0.9
CONTROLLER_STEPS = 128
"""Values of a seven-bit controller (MIDI 1.0, control change)."""
PAIR_FACTOR = 4
"""Clean steps for each seven-bit value from which a fourteen-bit pair tells more; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Converter:
    """A converter: its bits, its reference in volts, and the noise seen on it in counts (None: not measured)."""

    bits: int
    reference: Span
    noise_counts: float | None


def buffer_input(supply: Span) -> LogicInput:
    """Return the input of a buffer amplifier with CMOS inputs as an input without thresholds of its own.

    1 nA hot, clamps to both rails, 10 pF: from memory.
    """
    return LogicInput("the buffer", supply, lambda _: 0.0, lambda volts: volts, 1e-9, clamp=True, capacitance_pf=10.0)


def span_counts(volts: float, scale: float, reference: float, bits: int) -> int:
    """Return the whole counts that a span of line volts makes: V·k/Vref·2ⁿ."""
    return floor(volts * scale / reference * (1 << bits))


def clean_steps(counts: int, noise_counts: float) -> int:
    """Return the steps that stand clear of the noise."""
    return floor(counts / noise_counts)


def honest_bits(steps: int) -> float:
    """Return the bits that these steps are worth, 0 for less than one step."""
    return log2(steps) if steps >= 1 else 0.0


def design(
    line: Line,
    behind: LogicInput,
    *,
    converter: Converter,
    organ_supply_ohms: float | None = None,
    tolerance: float = RESISTOR_TOLERANCE,
) -> SenseDesign:
    """Return the buffer for a line whose `idle` and `keyed` states are the two ends of a movement.

    `behind` is the buffer's own input, on our supply (`buffer_input`).
    """
    swing = swing_of(line)
    refusals = (*refusals_of_line(line), *kick_refusal(line), *_below_ground(swing))
    if refusals:
        return refused(CIRCUIT, refusals, swing)
    if swing is None:
        return undecided(CIRCUIT, line)
    pair = _choose_scale(most_volts(swing), converter.reference.least, tolerance)
    network = network_of(pair, behind, GROUND, tolerance)
    return SenseDesign(
        circuit=CIRCUIT,
        looks_only=True,
        keyed_reads_high=swing.keyed_high,
        parts=(
            *tap_parts(pair, behind, tolerance, most_volts(swing), lower_to="our ground"),
            Part("between the tap and the converter", "buffer amplifier with CMOS inputs", 1.0, "pieces", 0.0),
        ),
        judged=(
            *_loading(network, line, swing, organ_supply_ohms),
            judge_range(network, swing, converter),
            judge_bias(network, swing),
            judge_steps(network, swing, converter),
            *audio_unknown(line),
            *kick_unknown(line),
        ),
        felt=what_the_line_feels(network, swing),
        remarks=(_reason(pair, converter), *_resolution(network, swing, converter)),
    )


def _below_ground(swing: Swing | None) -> tuple[str, ...]:
    if swing is None or swing.low.volts.least >= 0:
        return ()
    lowest = quantity(swing.low.volts.least, "V")
    return (f"the line goes to {lowest}, which the converter cannot read: shift it or use a sensor",)


def _choose_scale(volts: float, reference: float, tolerance: float) -> Pair:
    """Return 10 MΩ and the greatest partner that keeps the greatest volts below the reference."""
    scale = min(GREATEST_SCALE, reference / volts)
    worst = (1 - tolerance) / (1 + tolerance)
    return Pair(SERIES_OHMS, next_below(Series.E24, SERIES_OHMS * scale / (1 - scale) * worst), "E24")


def _loading(network: TapNetwork, line: Line, swing: Swing, organ_supply_ohms: float | None) -> tuple[Judged, ...]:
    states = (swing.idle, swing.keyed)
    off = {state.name: worst_line_amps(network, state.volts, state.ohms, powered=False) for state in states}
    alive = [worst_line_amps(network, state.volts, state.ohms) for state in states]
    amps, corner = max(alive, key=lambda pair: abs(pair[0]))
    found = (
        judge_current(line, amps, corner),
        *(judge_shift(network, state, swing.least_volts) for state in states),
        judge_supply_change(line, amps, corner, organ_supply_ohms),
        judge_back_feed(line, swing, off),
    )
    return tuple(judged for judged in found if judged is not None)


def judge_range(network: TapNetwork, swing: Swing, converter: Converter) -> Judged:
    """Return the greatest volts at the converter, which must stay below its reference."""

    def level(line: float, series: float, lower: float) -> float:
        return line * lower / (series + lower)

    units = {"line": "V", "series": "Ω", "lower": "Ω"}
    spans = {"line": swing.high.volts, "series": network.series, "lower": network.lower}
    value, corner = worst_corner(level, lowest=False, units=units, **spans)
    return Judged(RANGE, Result(value, converter.reference.least, "V", at_least=False, corner=corner))


def judge_bias(network: TapNetwork, swing: Swing) -> Judged:
    """Return how far the buffer's own current moves the level, in percent of the movement."""
    ohms = parallel_ohms(network.series.greatest, network.lower.greatest)
    scale = network.lower.least / (network.series.greatest + network.lower.least)
    value = 100 * network.leakage_a * ohms / (swing.least_volts * scale)
    corner = f"{quantity(network.leakage_a, 'A')} through {quantity(ohms, 'Ω')}"
    return Judged(BIAS, Result(value, 100 * LOADING_SHARE, "% of the movement", at_least=False, corner=corner))


def judge_steps(network: TapNetwork, swing: Swing, converter: Converter) -> Judged:
    """Return the clean steps of the movement at the least span, against the values of a seven-bit controller."""
    if converter.noise_counts is None:
        return Judged(STEPS, None, missing="the noise on the converter, in counts")
    steps, corner = _least_steps(network, swing, converter, converter.noise_counts)
    result = Result(steps, CONTROLLER_STEPS, "steps", at_least=True, corner=corner)
    return Judged(STEPS, result)


def _least_steps(network: TapNetwork, swing: Swing, converter: Converter, noise_counts: float) -> tuple[int, str]:
    scale = network.lower.least / (network.series.greatest + network.lower.least)
    counts = span_counts(swing.least_volts, scale, converter.reference.greatest, converter.bits)
    corner = (
        f"{quantity(swing.least_volts, 'V')} of line, scale {scale:.4f}, "
        f"reference {quantity(converter.reference.greatest, 'V')}, {counts} counts, {noise_counts:g} of noise"
    )
    return clean_steps(counts, noise_counts), corner


def _reason(pair: Pair, converter: Converter) -> str:
    return (
        f"{quantity(pair.series, 'Ω')} so that the line is hardly touched; {quantity(pair.lower, 'Ω')} is the greatest "
        f"of E24 that keeps the converter below its reference of {quantity(converter.reference.least, 'V')}"
    )


def _resolution(network: TapNetwork, swing: Swing, converter: Converter) -> tuple[str, ...]:
    """Return what may honestly be claimed of the resolution, where the noise is known."""
    if converter.noise_counts is None:
        return ()
    steps = _least_steps(network, swing, converter, converter.noise_counts)[0]
    pair = (
        "a 14-bit pair may be sent" if steps >= PAIR_FACTOR * CONTROLLER_STEPS else "a 14-bit pair would tell no more"
    )
    return (f"{steps} clean steps are {honest_bits(steps):.1f} bits: {pair}, and no more than that is claimed",)
