"""Bridging the gaps of an unfiltered supply: by waiting for more samples than a gap spoils, or by holding the peaks."""

from __future__ import annotations

from dataclasses import replace
from math import inf, log

from retrofit.circuits.eseries_values import Series, next_above, next_below
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense import optocoupler
from retrofit.circuits.sense.design import Judged, Part, SenseDesign
from retrofit.circuits.sense.line import Line, Ripple
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.rectifier_gap import MAINS_TOLERANCE, ripple_gap_us

BRIDGED = ", half-wave gaps bridged"
"""Stands behind the name of the circuit that is bridged."""
GAP_MOST_US = 20_000.0
GAP_GOOD_US = 3_000.0
"""A release may wait so long before quick repeats merge, and the jitter that a gap adds is not felt up to the second;
common practice, no source."""
DIODE_VOLTS_MOST = 1.0
"""Greatest forward voltage of a small silicon diode at 10 mA: Panjit 1N4148 data sheet rev. 0.2."""
RESISTOR_TOLERANCE, CAPACITOR_TOLERANCE = 0.05, 0.20
_CHARGE_SHARE = 50.0
"""The charging resistor is this many times smaller than the input that the capacitor feeds."""


def design(
    line: Line,
    logic: LogicInput,
    *,
    inner: SenseDesign | None = None,
    thresholds: Span | None = None,
    input_ohms: Span | None = None,
    peak_hold: bool = False,
    organ_supply_ohms: float | None = None,
) -> SenseDesign:
    """Return a sense circuit for a line whose supply falls to nothing between half waves.

    Without `inner` it is an optocoupler, judged with `organ_supply_ohms`.  Another `inner` comes with `thresholds`:
    the line volts below which it is sure to read released and above which it is sure to read keyed.  `peak_hold` puts
    a diode and a capacitor before an inner circuit of `input_ohms`; otherwise debounce must outlast `gap_us`.
    """
    chosen = inner or optocoupler.design(line, logic, organ_supply_ohms=organ_supply_ohms, bridged=True)
    if line.ripple is None:
        return _named(chosen, refusals=("the supply has no gaps between half waves: there is nothing to bridge",))
    if peak_hold:
        return _held(line.ripple, chosen, logic, thresholds, input_ohms)
    gap_us = _gap_us(line.ripple, chosen, thresholds)
    if gap_us is None:
        missing = "the line volts from which the circuit is sure to read keyed"
        return _named(chosen, judged=(Judged("gap between half waves", None, missing),))
    return replace(
        _named(chosen, judged=(_judge_gap(gap_us, line.ripple),), remarks=_sample_remarks(gap_us)),
        press_delay_us=chosen.press_delay_us + (gap_us if gap_us < inf else 0.0),
        gap_us=gap_us,
    )


def _named(
    chosen: SenseDesign,
    *,
    judged: tuple[Judged, ...] = (),
    refusals: tuple[str, ...] = (),
    remarks: tuple[str, ...] = (),
) -> SenseDesign:
    return replace(
        chosen,
        circuit=f"{chosen.circuit}{BRIDGED}",
        judged=(*chosen.judged, *judged),
        refusals=(*chosen.refusals, *refusals),
        remarks=(*chosen.remarks, *remarks),
    )


def _gap_us(ripple: Ripple, chosen: SenseDesign, thresholds: Span | None) -> float | None:
    """Return the gap as the thresholds give it, else as the circuit itself found it; None when neither is known."""
    return ripple_gap_us(ripple, thresholds.greatest) if thresholds else chosen.gap_us or None


def _judge_gap(gap_us: float, ripple: Ripple) -> Judged:
    wave = "full" if ripple.full_wave else "half"
    corner = (
        f"peaks {quantity(ripple.peak_volts.least, 'V')}, {ripple.mains_hz:g} Hz slow by its tolerance, {wave} wave"
    )
    result = Result(gap_us, GAP_MOST_US, "µs", at_least=False, corner=corner)
    return Judged("gap between half waves", result, good_from=GAP_MOST_US - GAP_GOOD_US)


def _sample_remarks(gap_us: float) -> tuple[str, ...]:
    if gap_us == inf:
        return ("the lowest peaks of the supply do not reach the volts from which the circuit reads keyed",)
    return (
        f"a release is believed only after every sample of {gap_us / 1e3:.2f} ms has agreed, and one more",
        f"the release so comes up to {gap_us / 1e3:.2f} ms earlier or later, as the contact opens in or out of a gap",
    )


def _held(
    ripple: Ripple, chosen: SenseDesign, logic: LogicInput, thresholds: Span | None, input_ohms: Span | None
) -> SenseDesign:
    """Return the circuit with a diode, a charging resistor and a capacitor before it."""
    refusals = () if logic.schmitt else (f"a held peak falls slowly: {logic.name} is no Schmitt input",)
    if thresholds is None or input_ohms is None:
        why = "the peaks cannot be held before an input that is not a plain resistance with known thresholds"
        return _named(chosen, refusals=(*refusals, why))
    charge = next_below(Series.E24, input_ohms.least / _CHARGE_SHARE)
    peak = (ripple.peak_volts.least - DIODE_VOLTS_MOST) / (1 + charge / input_ohms.least)
    if peak <= thresholds.greatest:
        return _named(
            chosen,
            refusals=(*refusals, f"peaks of {quantity(peak, 'V')} do not reach {quantity(thresholds.greatest, 'V')}"),
        )
    least = hold_farads(_peak_spacing_s(ripple), input_ohms.least, peak, thresholds.greatest)
    farads = next_above(Series.E12, least / (1 - CAPACITOR_TOLERANCE))
    return _with_capacitor(ripple, _named(chosen, refusals=refusals), farads, charge, thresholds, input_ohms)


def hold_farads(seconds: float, ohms: float, peak: float, threshold: float) -> float:
    """Return the capacitor that falls from a peak to a threshold in just this time: t/(R·ln(Vpk/Vth))."""
    return seconds / (ohms * log(peak / threshold))


def release_s(farads: float, ohms: float, peak: float, threshold: float) -> float:
    """Return how long a capacitor takes from a peak to a threshold: R·C·ln(Vpk/Vth)."""
    return farads * ohms * log(peak / threshold)


def _peak_spacing_s(ripple: Ripple) -> float:
    """Return the time from one peak to the next at the slowest mains."""
    return (0.5 if ripple.full_wave else 1.0) / (ripple.mains_hz * (1 - MAINS_TOLERANCE))


def _with_capacitor(
    ripple: Ripple, chosen: SenseDesign, farads: float, charge: float, thresholds: Span, input_ohms: Span
) -> SenseDesign:
    most = farads * (1 + CAPACITOR_TOLERANCE)
    release = release_s(most, input_ohms.greatest, ripple.peak_volts.greatest, thresholds.least)
    corner = (
        f"capacitor {quantity(most, 'F')}, input {quantity(input_ohms.greatest, 'Ω')}, "
        f"peaks {quantity(ripple.peak_volts.greatest, 'V')}"
    )
    late = Result(1e6 * release, GAP_MOST_US, "µs", at_least=False, corner=corner)
    parts = (
        Part("from the line", "resistor", charge, "Ω", RESISTOR_TOLERANCE),
        Part("after it, towards the input", "diode 1N4148", 1, "piece", 0.0),
        Part("from the input to return", "capacitor", farads, "F", CAPACITOR_TOLERANCE),
    )
    charging_ua = 1e6 * ripple.peak_volts.greatest / charge
    return replace(
        chosen,
        parts=(*parts, *chosen.parts),
        judged=(*chosen.judged, Judged("release after the held peak", late)),
        felt=replace(chosen.felt, on_ua=charging_ua, off_ua=charging_ua),
        press_delay_us=chosen.press_delay_us + 1e6 * _peak_spacing_s(ripple),
        release_delay_us=chosen.release_delay_us + 1e6 * release,
        gap_us=0.0,
    )
