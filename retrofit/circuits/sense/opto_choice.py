"""Choosing the resistor, zener, bypass and pull-up of an optocoupler from preferred values."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from retrofit.catalogue.isolators import Zener
from retrofit.circuits.eseries_values import Series, next_below
from retrofit.circuits.result import Span
from retrofit.circuits.sense.driven import Driven
from retrofit.circuits.sense.limits import OFF_STATE_FACTOR, OVERDRIVE_FACTOR
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.opto_network import (
    NO_THRESHOLD,
    Coupler,
    OptoNetwork,
    Threshold,
    allowed_amps,
    needed_amps,
)

PULL_UPS_OHMS = (10e3, 22e3, 47e3)
BYPASSES_OHMS = (None, 22e3, 10e3, 4.7e3, 2.2e3)
"""Values that are tried beside every zener, fewest parts and quickest release first."""
_LEAST_SERIES_OHMS = 100.0
_SHARP_TO_REAL = 1.2
"""A part with a knee lets through up to so much more than a sharp one."""


@dataclass(frozen=True, slots=True)
class OptoValues:
    """The values of one optocoupler input; None stands for a part that is left out."""

    series_ohms: float
    zener: Zener | None
    bypass_ohms: float | None
    pull_up_ohms: float


def network(coupler: Coupler, values: OptoValues, tolerance: float) -> OptoNetwork:
    """Return the circuit of these values with every resistor over its tolerance."""
    return _network(coupler, values, _threshold(coupler, values.zener), tolerance)


def _network(coupler: Coupler, values: OptoValues, threshold: Threshold, tolerance: float) -> OptoNetwork:
    return OptoNetwork(
        coupler=coupler,
        series=Span.around(values.series_ohms, tolerance),
        threshold=threshold,
        bypass=None if values.bypass_ohms is None else Span.around(values.bypass_ohms, tolerance),
        pull_up=Span.around(values.pull_up_ohms, tolerance),
    )


def choose_values(
    drive: Driven, logic: LogicInput, coupler: Coupler, zeners: Sequence[Zener], tolerance: float
) -> OptoValues | None:
    """Return the values that load the line least while the off state holds, or come nearest to holding it.

    None when no resistor gives the overdrive wanted.  While the idle volts are not known, half the driving volts must
    stay dark.
    """
    dark_to = drive.off.greatest if drive.off else drive.on.least / 2
    found = [
        (*_rank(circuit, logic, drive, dark_to), order, values)
        for order, (values, circuit) in enumerate(_candidates(drive, logic, coupler, zeners, tolerance))
    ]
    return min(found, key=lambda entry: entry[:3])[-1] if found else None


def off_state_amps(circuit: OptoNetwork, logic: LogicInput) -> float | None:
    """Return the LED current allowed while idle; None where the greatest transfer ratio is not printed."""
    ratio = circuit.coupler.ratio_greatest
    if ratio is None:
        return None
    return max(0.0, idle_collector_amps(circuit, logic)) / (OFF_STATE_FACTOR * ratio)


def idle_collector_amps(circuit: OptoNetwork, logic: LogicInput) -> float:
    """Return the least collector current, over the supply, that the pull-up can lose and still read high."""
    leakage = circuit.coupler.dark_amps + logic.leakage_a
    return min(
        allowed_amps(supply, logic.vih(supply), circuit.pull_up.greatest, leakage)
        for supply in (logic.supply.least, logic.supply.greatest)
    )


def driven_led_amps(circuit: OptoNetwork, logic: LogicInput) -> float:
    """Return the LED current with which an output at the end of its life is only just low."""
    needed = needed_amps(logic.supply.greatest, circuit.pull_up.least, logic.leakage_a)
    return needed / circuit.coupler.ratio_least


def _threshold(coupler: Coupler, zener: Zener | None) -> Threshold:
    threshold = NO_THRESHOLD if zener is None else Threshold.of(zener)
    return threshold.back_to_back() if coupler.both_ways else threshold


def _candidates(
    drive: Driven, logic: LogicInput, coupler: Coupler, zeners: Sequence[Zener], tolerance: float
) -> Iterator[tuple[OptoValues, OptoNetwork]]:
    """Yield, for each choice of the other parts, the largest resistor that keeps the overdrive, and the circuit."""
    source_ohms = drive.on_ohms.greatest if drive.on_ohms else 0.0
    thresholds = [(zener, _threshold(coupler, zener)) for zener in (None, *zeners)]
    for (zener, threshold), bypass, pull_up in product(thresholds, BYPASSES_OHMS, PULL_UPS_OHMS):
        trial = _network(coupler, OptoValues(_LEAST_SERIES_OHMS, zener, bypass, pull_up), threshold, tolerance)
        amps = OVERDRIVE_FACTOR * driven_led_amps(trial, logic) + coupler.forward.greatest / trial.bypass_span.least
        volts = drive.on.least - trial.threshold.volts.greatest - coupler.forward.greatest
        largest = (volts / amps - source_ohms) / (1 + tolerance)
        if largest >= _LEAST_SERIES_OHMS:
            series_ohms = next_below(Series.E24, largest)
            series = Span.around(series_ohms, tolerance)
            yield OptoValues(series_ohms, zener, bypass, pull_up), replace(trial, series=series)


def _rank(circuit: OptoNetwork, logic: LogicInput, drive: Driven, dark_to: float) -> tuple[float, float]:
    """Return how far the off state is missed, in volts, and then the load on the line: both are to be small.

    The load is that of sharp parts, which is enough to compare values.
    """
    amps = off_state_amps(circuit, logic)
    allowed = circuit.idle_volts_allowed(circuit.coupler.knee.low_amps if amps is None else amps)
    drop = circuit.threshold.volts.least + circuit.coupler.forward.least
    line_amps = max(0.0, drive.on.greatest - drop) / circuit.series.least
    most = min(circuit.threshold.test_amps, circuit.coupler.forward_amps_most) / _SHARP_TO_REAL
    return max(0.0, dark_to - allowed) + (drive.on.greatest if line_amps > most else 0.0), line_amps
