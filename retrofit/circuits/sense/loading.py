"""What a tap takes from the organ: share of the keyed current, change of decay, shift of volts, change of supply.

A figure that rests on a reading that was never taken is unknown, and says which reading.
"""

from __future__ import annotations

from math import inf, log

from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span, worst_corner
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.limits import LOADING_GOOD_SHARE, LOADING_SHARE, ORGAN_SUPPLY_CHANGE_SHARE
from retrofit.circuits.sense.line import Decay, Line
from retrofit.circuits.sense.swing import State
from retrofit.circuits.sense.tap_network import TapNetwork, worst_shift_volts

CURRENT, SHIFT = "current taken from the line", "shift of the line's volts"
DECAY = "change of the line's decay"
SUPPLY = "change of the organ's supply with every such line keyed"
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
    return tau_s * log((volts_from - volts_end) / (volts_to - volts_end))


def parallel_ohms(first: float, second: float) -> float:
    """Return two resistances side by side; either may be infinite."""
    return 1 / (1 / first + 1 / second)


def judge_current(line: Line, amps: float, corner: str) -> Judged | None:
    """Return the share of the keyed current that is taken; None on a line of ours or whose load draws none.

    A line without a load of its own is judged by the shift of its volts alone.
    """
    if line.ours or line.keyed_amps == 0:
        return None
    if line.keyed_amps is None:
        return Judged(CURRENT, None, missing="the current of the organ's own load through the contact")
    value = 100 * abs(amps / line.keyed_amps)
    result = Result(value, _LIMIT_PERCENT, "% of keyed current", at_least=False, corner=corner)
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
    of_own = state.volts.least * state.volts.greatest > 0
    value, corner = worst_shift_volts(network, state.volts, state.ohms, share=of_own)
    percent = 100 * value if of_own else 100 * value / swing_volts
    unit = f"% of its {state.name} volts" if of_own else "% of its swing"
    return Judged(name, Result(percent, _LIMIT_PERCENT, unit, at_least=False, corner=corner), good_from=_GOOD_FROM)


def judge_decay(decay: Decay, input_ohms: float) -> Judged:
    """Return how much shorter the decay becomes with an input that is never below this resistance."""
    ohms = decay.ohms.greatest
    value = -100 * decay_change(ohms, input_ohms)
    corner = f"discharge {quantity(ohms, 'Ω')}, input {quantity(input_ohms, 'Ω')}"
    result = Result(value, _LIMIT_PERCENT, "% of decay time", at_least=False, corner=corner)
    return Judged(DECAY, result, good_from=_GOOD_FROM)


def judge_supply_change(line: Line, amps: float, corner: str, supply_ohms: float | None) -> Judged | None:
    """Return what every such line together takes of the organ's supply volts; None for a line of ours.

    `supply_ohms` is the supply's greatest source resistance; while it is unknown, the greatest allowed is named.
    """
    volts, total = _least_supply_volts(line), abs(amps) * line.lines_at_once
    if line.ours or not volts:
        return None
    if supply_ohms is None:
        allowed = ORGAN_SUPPLY_CHANGE_SHARE * volts / total if total else inf
        missing = f"the source resistance of the organ's supply (it may be up to {quantity(allowed, 'Ω')})"
        return Judged(SUPPLY, None, missing=missing)
    corner = f"{corner}, {line.lines_at_once} lines at once, organ's supply {quantity(supply_ohms, 'Ω')}"
    percent, limit = 100 * total * supply_ohms / volts, 100 * ORGAN_SUPPLY_CHANGE_SHARE
    return Judged(SUPPLY, Result(percent, limit, "% of supply", at_least=False, corner=corner))


def _least_supply_volts(line: Line) -> float:
    """Return the least that the supply can be: what the farther of the two states shows at its least."""
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

    def late(discharge: float, capacitor: float, load: float, start: float) -> float:
        beyond = start > volts_to if falling else start < volts_to
        return late_note_off_s(parallel_ohms(discharge, load) * capacitor, start, volts_to, end) if beyond else 0.0

    units = {"discharge": "Ω", "capacitor": "F", "load": "Ω", "start": "V"}
    spans = {"discharge": decay.ohms, "capacitor": decay.farads, "load": input_ohms, "start": volts_from}
    return worst_corner(late, lowest=False, units=units, **spans)
