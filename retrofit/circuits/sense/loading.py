"""How far a tap disturbs a line of the organ: its current, its volts, its decay, and the supply behind it."""

from __future__ import annotations

from math import inf, log

from retrofit.circuits.result import Result, Span, worst_corner
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.limits import LOADING_GOOD_SHARE, LOADING_SHARE, ORGAN_SUPPLY_CHANGE_SHARE
from retrofit.circuits.sense.line import Decay, Line
from retrofit.circuits.sense.swing import State
from retrofit.circuits.sense.tap_network import TapNetwork

CURRENT, DECAY = "current taken from the line", "change of the line's decay"
SUPPLY_CHANGE = "change of the organ's supply with every such line keyed"
_GOOD_FROM = 100 * (LOADING_SHARE - LOADING_GOOD_SHARE)


def parallel_ohms(one: float, other: float) -> float:
    """Return two resistances in parallel; either may be infinite."""
    return 1 / (1 / one + 1 / other) if one and other else 0.0


def decay_change(discharge_ohms: float, input_ohms: float) -> float:
    """Return the share by which a decay is shortened: Rd/(Rd + Rin)."""
    return discharge_ohms / (discharge_ohms + input_ohms)


def input_ohms_for(discharge_ohms: float, share: float) -> float:
    """Return the input resistance that shortens a decay by just this share: Rd·(1/e − 1)."""
    return discharge_ohms * (1 / share - 1)


def judge_current(line: Line, amps: float, corner: str) -> Judged | None:
    """Return the current of a tap against the line's own; nothing for a line of ours."""
    if line.ours:
        return None
    if not line.keyed_amps:
        return Judged(CURRENT, None, missing="the current of the organ's own load through the contact")
    return _share(CURRENT, abs(amps / line.keyed_amps), "% of keyed current", corner)


def judge_shift(network: TapNetwork, state: State, least_volts: float) -> Judged:
    """Return the shift of a state's volts behind its source resistance: Rs/(Rs + Rin).

    The volts at stake are those across the tap and its reference; `least_volts` is the swing that they are part of.
    """
    name = f"shift of the line's volts, {state.name}"
    if state.ohms is None:
        return Judged(name, None, missing=f"the source resistance of the line, {state.name}")
    if least_volts <= 0:
        return Judged(name, None, missing="idle and keyed volts that differ")
    spans = {"source": state.ohms, "load": network.lightest_ohms}
    value, corner = worst_corner(
        lambda source, load: source / (source + load), lowest=False, units={"source": "Ω", "load": "Ω"}, **spans
    )
    return _share(name, value, "% of line volts", corner)


def judge_decay(decay: Decay, input_ohms: float) -> Judged:
    """Return by how much a resistance across a decay capacitor shortens the decay."""
    corner = f"discharge {decay.ohms.greatest:g} Ω, input {input_ohms:g} Ω"
    return _share(DECAY, decay_change(decay.ohms.greatest, input_ohms), "% of decay time", corner)


def judge_supply_change(line: Line, amps: float, corner: str, supply_ohms: float | None) -> Judged | None:
    """Return the sag of the organ's supply when every such line is keyed; nothing for a line of ours."""
    if line.ours:
        return None
    volts = [abs(end) for span in (line.idle_volts, line.keyed_volts) if span for end in (span.least, span.greatest)]
    if supply_ohms is None or not volts:
        return Judged(SUPPLY_CHANGE, None, missing="the source resistance of the organ's supply")
    total = abs(amps) * line.lines_at_once
    result = Result(
        100 * total * supply_ohms / max(volts),
        100 * ORGAN_SUPPLY_CHANGE_SHARE,
        "% of supply",
        at_least=False,
        corner=f"{corner}, {line.lines_at_once} lines at once",
    )
    return Judged(SUPPLY_CHANGE, result)


def release_after_decay_s(
    decay: Decay, load: Span, keyed: Span, idle: Span, threshold: float
) -> tuple[float, str] | None:
    """Return the longest time from release to the threshold, and its corner; None when it is never reached.

    The time is R·C·ln((V0 − Vend)/(Vth − Vend)), R being the discharge in parallel with the tap.
    """

    def late(discharge: float, load: float, farads: float, keyed: float, idle: float) -> float:
        ratio = (keyed - idle) / (threshold - idle) if threshold != idle else inf
        return inf if ratio <= 0 or ratio == inf else parallel_ohms(discharge, load) * farads * max(0.0, log(ratio))

    units = {"discharge": "Ω", "load": "Ω", "farads": "F", "keyed": "V", "idle": "V"}
    spans = {"discharge": decay.ohms, "load": load, "farads": decay.farads, "keyed": keyed, "idle": idle}
    seconds, corner = worst_corner(late, lowest=False, units=units, **spans)
    return None if seconds == inf else (seconds, corner)


def _share(name: str, value: float, unit: str, corner: str) -> Judged:
    result = Result(100 * value, 100 * LOADING_SHARE, unit, at_least=False, corner=corner)
    return Judged(name, result, good_from=_GOOD_FROM)
