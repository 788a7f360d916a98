"""How far a current that we take may disturb a line of the organ: its current, its volts, its decay."""

from __future__ import annotations

from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.limits import LOADING_GOOD_SHARE, LOADING_SHARE
from retrofit.circuits.sense.line import Line

_GOOD_FROM = 100 * (LOADING_SHARE - LOADING_GOOD_SHARE)


def judge_loading(
    line: Line, amps: float, volts: float, ohms: Span | None, input_ohms_least: float
) -> tuple[Judged, ...]:
    """Return the loading figures of a line that is the organ's; nothing for a line of our own.

    `amps` is the most that we take at `volts` from a source of `ohms`; `input_ohms_least` the least resistance that
    we put across a capacitor of the line.
    """
    if line.ours:
        return ()
    decay = () if line.decay is None else (_decay(line.decay.ohms, input_ohms_least),)
    return _current(line.keyed_amps, amps), _shift(amps, volts, ohms), *decay


def decay_change_percent(discharge_ohms: float, input_ohms: float) -> float:
    """Return by how much a decay is shortened: Rd/(Rd + Rin), in percent."""
    return 100 * discharge_ohms / (discharge_ohms + input_ohms)


def _current(keyed_amps: float | None, amps: float) -> Judged:
    name = "current taken from the line"
    if not keyed_amps:
        return Judged(name, None, "the current that the organ's own load draws through the contact")
    return _share(name, 100 * amps / keyed_amps, "% of keyed current", f"{amps * 1e3:.3g} mA taken")


def _shift(amps: float, volts: float, ohms: Span | None) -> Judged:
    name = "shift of the line's volts"
    if ohms is None:
        return Judged(name, None, "the source resistance of the line")
    shift = 100 * amps * ohms.greatest / abs(volts)
    return _share(name, shift, "% of line volts", f"source {ohms.greatest:g} Ω, line {volts:g} V")


def _decay(ohms: Span, input_ohms: float) -> Judged:
    change = decay_change_percent(ohms.greatest, input_ohms)
    return _share("change of the line's decay", change, "% of decay time", f"discharge {ohms.greatest:g} Ω")


def _share(name: str, value: float, unit: str, corner: str) -> Judged:
    return Judged(name, Result(value, 100 * LOADING_SHARE, unit, at_least=False, corner=corner), good_from=_GOOD_FROM)
