"""Choosing the resistors of a tap for a line and an input, and putting the finished tap into a design."""

from __future__ import annotations

from math import inf

from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Span
from retrofit.circuits.sense.audio import audio_unknown
from retrofit.circuits.sense.design import Felt, Judged, Part, SenseDesign
from retrofit.circuits.sense.limits import HIGH_MARGIN_SHARE, LOW_MARGIN_GOOD_SHARE, LOW_MARGIN_SHARE
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.pair_choice import Conditions, Pair, Targets, choose_pair
from retrofit.circuits.sense.resistor_bodies import body_for
from retrofit.circuits.sense.swing import State, Swing, missing_of_swing
from retrofit.circuits.sense.tap_design import (
    HIGH_LEVEL,
    INPUT_DELAY_US,
    LOW_LEVEL,
    Surroundings,
    edge_us,
    judge_tap,
    press_and_release_us,
    what_the_line_feels,
)
from retrofit.circuits.sense.tap_network import TapNetwork, input_leakage_a, least_margin, level_span

RESISTOR_TOLERANCE = 0.01
"""Of the resistors that are fitted unless others are asked for."""
KICK = "no kick of an inductive load on the line"
NOT_FELT = Felt(None, None, None, None, None, None)


def network_of(pair: Pair, behind: LogicInput, reference: Span | None, tolerance: float) -> TapNetwork:
    """Return the network of a pair of resistors at their tolerance."""
    series, lower = Span.around(pair.pieces * pair.series, tolerance), Span.around(pair.lower, tolerance)
    return TapNetwork(series, lower, reference, behind)


def choose_tap(
    swing: Swing,
    behind: LogicInput,
    reference: Span | None,
    tolerance: float,
    *,
    pieces: int = 1,
    floor_volts: float = -inf,
) -> Pair | None:
    """Return the pair that loads the line least and keeps both levels, the delay, and the input above a floor.

    A low level with a good margin is tried first, then one that is narrow; None when no pair fits.
    """
    conditions = Conditions(_source_ohms(swing.high), input_leakage_a(behind), tolerance)
    floor = Targets(swing.low.volts.least, 0.0, floor_volts, inf, (reference or behind.supply).least)
    for low_share in (LOW_MARGIN_GOOD_SHARE, LOW_MARGIN_SHARE):

        def fits(pair: Pair, low_share: float = low_share) -> bool:
            network = network_of(pair, behind, reference, tolerance)
            return (
                least_margin(network, swing.high, high=True) >= 100 * HIGH_MARGIN_SHARE
                and least_margin(network, swing.low, high=False) >= 100 * low_share
                and _edges_in_time(network, swing)
                and level_span(network, swing.low).least >= floor_volts
            )

        pair = choose_pair([*_targets(swing, behind, reference, low_share), floor], fits, conditions, pieces=pieces)
        if pair is not None:
            return pair
    return None


def _edges_in_time(network: TapNetwork, swing: Swing) -> bool:
    return max(edge_us(network, swing.low, swing.high), edge_us(network, swing.high, swing.low)) <= INPUT_DELAY_US


def _targets(swing: Swing, behind: LogicInput, reference: Span | None, low_share: float) -> list[Targets]:
    return [
        Targets(
            line_high=swing.high.volts.least,
            line_low=swing.low.volts.greatest,
            high=behind.vih(supply) + HIGH_MARGIN_SHARE * supply,
            low=behind.vil(supply) - low_share * supply,
            reference=far_end,
        )
        for supply in (behind.supply.least, behind.supply.greatest)
        for far_end in ((supply,) if reference is None else (reference.least, reference.greatest))
    ]


def _source_ohms(state: State) -> float:
    return state.ohms.greatest if state.ohms is not None and state.ohms.greatest < inf else 0.0


def tap_parts(pair: Pair, behind: LogicInput, tolerance: float, volts: float, *, lower_to: str) -> tuple[Part, ...]:
    """Return the parts of a tap that must bear so many volts: the series resistor, its partner, clamps if wanted."""
    watts = volts**2 / (pair.series * (1 - tolerance)) / pair.pieces**2
    body = body_for(watts, volts / pair.pieces).words
    series = Part("in series with the line, at the tap", "resistor", pair.series, "Ω", tolerance, body)
    lower = Part(f"from the input to {lower_to}", "resistor", pair.lower, "Ω", tolerance, body_for(0.0, 0.0).words)
    return (*(series,) * pair.pieces, lower) if behind.clamp else (*(series,) * pair.pieces, lower, fitted_clamp())


def fitted_clamp() -> Part:
    """Return the two diodes that hold an input which has none of its own."""
    role = "from ground to the input and from the input to our supply"
    return Part(role, "small silicon diodes", 2.0, "pieces", 0.0, "75 V, 0.15 A")


def tap_as_design(
    circuit: str,
    network: TapNetwork,
    parts: tuple[Part, ...],
    line: Line,
    swing: Swing,
    around: Surroundings,
    remarks: tuple[str, ...],
) -> SenseDesign:
    """Return a tap with everything that is said of it."""
    delays = press_and_release_us(network, line, swing)
    press, release = delays or (0.0, 0.0)
    return SenseDesign(
        circuit=circuit,
        looks_only=True,
        keyed_reads_high=swing.keyed_high,
        parts=parts,
        judged=judge_tap(network, line, swing, around),
        felt=what_the_line_feels(network, swing),
        press_delay_us=press,
        release_delay_us=release,
        refusals=() if delays else (_never_released(),),
        remarks=(*remarks, *_decay_remark(line, release), *_slow_edge_remark(network.behind)),
    )


def _never_released() -> str:
    return (
        "the input is never sure to see a change of the line, behind its decay capacitor or with these levels: "
        "move the tap to the contact side of the capacitor"
    )


def _decay_remark(line: Line, release_us: float) -> tuple[str, ...]:
    if line.decay is None:
        return ()
    return (f"behind the decay capacitor the note-off comes up to {release_us / 1e3:.0f} ms late",)


def _slow_edge_remark(behind: LogicInput) -> tuple[str, ...]:
    if behind.schmitt:
        return ()
    return (
        f"{behind.name} has no Schmitt trigger and the network makes slow edges: it may chatter while the level passes "
        "its thresholds, which the debounce must cover",
    )


def refused(circuit: str, refusals: tuple[str, ...], swing: Swing | None) -> SenseDesign:
    """Return the design that is refused before any value is chosen."""
    keyed_high = None if swing is None else swing.keyed_high
    return SenseDesign(circuit, True, keyed_high, (), (), NOT_FELT, refusals=refusals)


def undecided(circuit: str, line: Line) -> SenseDesign:
    """Return the design of a line whose states were not measured: nothing is chosen, and what is missing is said."""
    missing = missing_of_swing(line)
    levels = tuple(Judged(name, None, missing=missing) for name in (LOW_LEVEL, HIGH_LEVEL))
    return SenseDesign(circuit, True, None, (), (*levels, *audio_unknown(line)), NOT_FELT)


def reason_of(pair: Pair, network: TapNetwork) -> str:
    """Return in words why this pair was chosen."""
    pieces = f"{pair.pieces} × " if pair.pieces > 1 else ""
    return (
        f"{pieces}{quantity(pair.series, 'Ω')} and {quantity(pair.lower, 'Ω')} are the pair of {pair.from_series} "
        "with the greatest series resistor, the least load on the line, that still keeps both levels clear of the "
        f"limits of {network.behind.name} with {quantity(network.leakage_a, 'A')} of leakage, and the delay below "
        f"{INPUT_DELAY_US:g} µs"
    )
