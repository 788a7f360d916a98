"""What a tap takes from the organ: share of the keyed current, change of decay, shift of volts, change of supply.

A figure that rests on a reading that was never taken is unknown, and says which reading.
"""

from __future__ import annotations

from math import inf, log

from retrofit.circuits.result import Result, Span, worst_corner
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.limits import LOADING_GOOD_SHARE, LOADING_SHARE, ORGAN_SUPPLY_CHANGE_SHARE
from retrofit.circuits.sense.line import Decay, Line
from retrofit.circuits.sense.swing import State
from retrofit.circuits.sense.tap_network import TapNetwork, worst_shift_volts
from retrofit.circuits.settle import fall_time_s

CURRENT = "share of the keyed current that our input takes"
SHIFT = "shift of the line's volts by our input"
DECAY = "change of the line's decay by our input"
SUPPLY = "change of the organ's supply with every sensed line keyed"

_LIMIT_PERCENT = 100 * LOADING_SHARE
_GOOD_FROM = 100 * (LOADING_SHARE - LOADING_GOOD_SHARE)


def shift_share(source: float, input_ohms: float) -> float:
    """Return the share of its volts that a line loses to a resistance to its return: Rs/(Rs + Rin)."""
    return source / (source + input_ohms)


def decay_change(discharge_ohms: float, input_ohms: float) -> float:
    """Return the relative change of a time constant when Rin is laid across its resistor: −Rd/(Rd + Rin)."""
    return -discharge_ohms / (discharge_ohms + input_ohms)


def input_ohms_for(discharge_ohms: float, share: float) -> float:
    """Return the input resistance that shortens a decay by this share: Rd·(1/e − 1)."""
    return discharge_ohms * (1 / share - 1)


def late_note_off_s(tau_s: float, volts_from: float, volts_to: float, volts_end: float = 0.0) -> float:
    """Return how long a decaying line stays beyond a threshold: τ·ln((V0 − Vend)/(Vth − Vend))."""
    return fall_time_s(tau_s, 1.0, volts_from, volts_end, volts_to)


def parallel_ohms(first: float, second: float) -> float:
    """Return two resistances side by side."""
    return 1 / (1 / first + 1 / second)


def judge_current(line: Line, amps: float, corner: str) -> Judged | None:
    """Return the share of the keyed current that is taken; None on a line whose load draws none.

    Such a line is judged by the shift of its volts alone.
    """
    if line.keyed_amps is None:
        return Judged(CURRENT, None, missing="the current of the organ's own load through the contact")
    if line.keyed_amps == 0:
        return None
    value = 100 * abs(amps) / abs(line.keyed_amps)
    result = Result(value, _LIMIT_PERCENT, "% of the keyed current", at_least=False, corner=corner)
    return Judged(CURRENT, result, good_from=_GOOD_FROM)


def judge_shift(network: TapNetwork, state: State, swing_volts: float) -> Judged | None:
    """Return how far a state is shifted, in percent of its own volts; None for a line that floats in that state.

    A state that may be at 0 V has no volts to take a share of: its shift is compared with the line's least swing.
    """
    name = f"{SHIFT}, {state.name}"
    if state.ohms is None:
        return Judged(name, None, missing=f"the source resistance of the line, {state.name}")
    if state.ohms.greatest == inf:
        return None
    share = state.volts.least * state.volts.greatest > 0
    value, corner = worst_shift_volts(network, state.volts, state.ohms, share=share)
    unit = f"% of its {state.name} volts" if share else "% of its swing"
    percent = 100 * value if share else 100 * value / swing_volts
    return Judged(name, Result(percent, _LIMIT_PERCENT, unit, at_least=False, corner=corner), good_from=_GOOD_FROM)


def judge_decay(decay: Decay, input_ohms: float) -> Judged:
    """Return how much shorter the decay becomes with an input that is never below this resistance."""
    ohms = decay.ohms.greatest
    value = -100 * decay_change(ohms, input_ohms)
    corner = f"discharge {ohms:g} Ω, input {input_ohms:g} Ω"
    result = Result(value, _LIMIT_PERCENT, "% shorter", at_least=False, corner=corner)
    return Judged(DECAY, result, good_from=_GOOD_FROM)


def judge_supply_change(line: Line, amps: float, corner: str, supply_ohms: float | None) -> Judged:
    """Return what every such line together takes of the organ's supply volts.

    `supply_ohms` is the supply's greatest source resistance; while it is unknown, the greatest allowed is named.
    """
    total = abs(amps) * line.lines_at_once
    volts = _least_supply_volts(line)
    if supply_ohms is None:
        allowed = ORGAN_SUPPLY_CHANGE_SHARE * volts / total if total else inf
        missing = f"the source resistance of the organ's supply (it may be up to {allowed:.3g} Ω)"
        return Judged(SUPPLY, None, missing=missing)
    corner = f"{corner}, {line.lines_at_once} lines at once, supply {supply_ohms:g} Ω"
    value = 100 * total * supply_ohms / volts if volts else inf
    limit = 100 * ORGAN_SUPPLY_CHANGE_SHARE
    return Judged(SUPPLY, Result(value, limit, "% of the organ's supply", at_least=False, corner=corner))


def _least_supply_volts(line: Line) -> float:
    """Return the least that the supply can be: what the higher of the two states shows at its least."""
    known = [volts for volts in (line.idle_volts, line.keyed_volts) if volts is not None]
    return max((min(abs(volts.least), abs(volts.greatest)) for volts in known), default=0.0)


def release_after_decay_s(
    decay: Decay, input_ohms: Span, volts_from: Span, volts_end: Span, volts_to: float
) -> tuple[float, str] | None:
    """Return how late the release is seen behind a decay capacitor, with its corner; None when it may never be.

    `volts_to` is the line's level at which the input is sure to have changed.
    """
    falling = volts_from.least > volts_end.greatest
    end = volts_end.greatest if falling else volts_end.least
    if (volts_to <= end) if falling else (volts_to >= end):
        return None

    def late(ohms: float, farads: float, input_ohms: float, start: float) -> float:
        beyond = (start > volts_to) if falling else (start < volts_to)
        tau_s = parallel_ohms(ohms, input_ohms) * farads
        return tau_s * log((start - end) / (volts_to - end)) if beyond else 0.0

    units = {"ohms": "Ω", "farads": "F", "input_ohms": "Ω", "start": "V"}
    spans = {"ohms": decay.ohms, "farads": decay.farads, "input_ohms": input_ohms, "start": volts_from}
    return worst_corner(late, lowest=False, units=units, **spans)
