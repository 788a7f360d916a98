"""The figures of an optocoupler input beside their limits, each at its worst corner."""

from __future__ import annotations

from math import inf

from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span, worst_corner
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.driven import Driven
from retrofit.circuits.sense.limits import (
    DISSIPATION_SHARE,
    HIGH_MARGIN_SHARE,
    KICK_FACTOR,
    LOADING_GOOD_SHARE,
    LOADING_SHARE,
    LOW_MARGIN_GOOD_SHARE,
    LOW_MARGIN_SHARE,
    OVERDRIVE_FACTOR,
)
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.opto_choice import off_state_amps
from retrofit.circuits.sense.opto_network import (
    LOW_VOLTS_WANTED,
    NO_THRESHOLD,
    OptoNetwork,
    led_amps,
    needed_amps,
)
from retrofit.circuits.sense.resistor_bodies import body_for

_UNITS = {
    "line": "V",
    "source": "Ω",
    "series": "Ω",
    "zener": "V",
    "forward": "V",
    "bypass": "Ω",
    "supply": "V",
    "pull_up": "Ω",
}


def judge_network(
    circuit: OptoNetwork, drive: Driven, logic: LogicInput, kick_volts: float | None
) -> tuple[Judged, ...]:
    """Return every judged figure of the circuit itself; what the organ feels is judged apart."""
    return (
        _overdrive(circuit, drive, logic),
        _off_state(circuit, drive, logic),
        _low_level(logic),
        _high_level(circuit, logic),
        _led_current(circuit, drive),
        *_threshold_element(circuit, drive),
        _resistor_power(circuit, drive),
        _resistor_volts(circuit, drive, kick_volts),
    )


def judge_shift(drive: Driven, amps: float) -> Judged:
    """Return by how much the LED's current pulls the line's volts down behind its source resistance."""
    name = "shift of the line's volts"
    if drive.on_ohms is None:
        return Judged(name, None, "the source resistance of the line while it drives the LED")
    percent = 100 * amps * drive.on_ohms.greatest / drive.on.greatest
    corner = f"source {quantity(drive.on_ohms.greatest, 'Ω')}, line {quantity(drive.on.greatest, 'V')}"
    result = Result(percent, 100 * LOADING_SHARE, "% of line volts", at_least=False, corner=corner)
    return Judged(name, result, good_from=100 * (LOADING_SHARE - LOADING_GOOD_SHARE))


def resistor_watts(circuit: OptoNetwork, drive: Driven) -> float:
    """Return the most heat in the series resistor, at its least value and with lasting volts of either sign."""
    backward = 0.0 if drive.off is None else max(0.0, -drive.on.least, -drive.off.least)
    amps = max(circuit.line_amps_most(drive.on.greatest), backward / circuit.series.least)
    return amps**2 * circuit.series.least


def _overdrive(circuit: OptoNetwork, drive: Driven, logic: LogicInput) -> Judged:
    name = "overdrive of the optocoupler at the end of its life"
    if drive.on_ohms is None:
        return Judged(name, None, "the source resistance of the line while it drives the LED")
    ratio = circuit.coupler.ratio_least

    def overdrive(supply: float, pull_up: float, **led: float) -> float:
        return led_amps(**led) * ratio / needed_amps(supply, pull_up, logic.leakage_a)

    spans = {
        "line": drive.on,
        "source": drive.on_ohms,
        "series": circuit.series,
        "zener": circuit.threshold.volts,
        "forward": circuit.coupler.forward,
        "supply": logic.supply,
        "pull_up": circuit.pull_up,
    } | ({} if circuit.bypass is None else {"bypass": circuit.bypass})
    value, corner = worst_corner(overdrive, lowest=True, units=_UNITS, **spans)
    assumed = (f"of the LED's current at least {ratio:.2g} reaches the output when old, hot and at a low current",)
    return Judged(name, Result(value, OVERDRIVE_FACTOR, "times", at_least=True, corner=corner, assumptions=assumed))


def _off_state(circuit: OptoNetwork, drive: Driven, logic: LogicInput) -> Judged:
    name = "line volts at which the output must stay off"
    amps = off_state_amps(circuit, logic)
    if amps is None:
        return Judged(name, None, f"the greatest transfer ratio of the {circuit.coupler.name}, which is not printed")
    if drive.off is None:
        return Judged(name, None, "the idle volts of the line")
    volts = _off_volts(circuit, drive.off)
    corner = f"LED current {quantity(amps, 'A')}, series {quantity(circuit.series.least, 'Ω')}, hottest"
    assumed = "between their printed leakage and their printed voltage LED and zener follow a power of the voltage"
    allowed = circuit.idle_volts_allowed(amps)
    return Judged(name, Result(volts, allowed, "V", at_least=False, corner=corner, assumptions=(assumed,)))


def _off_volts(circuit: OptoNetwork, off: Span) -> float:
    return max(abs(off.least), abs(off.greatest)) if circuit.coupler.both_ways else off.greatest


def _low_level(logic: LogicInput) -> Judged:
    def margin(supply: float) -> float:
        return 100 * (logic.vil(supply) - LOW_VOLTS_WANTED) / supply

    value, corner = worst_corner(margin, lowest=True, units=_UNITS, supply=logic.supply)
    result = Result(value, 100 * LOW_MARGIN_SHARE, "% of supply", at_least=True, corner=corner)
    return Judged("low level at the input", result, good_from=100 * (LOW_MARGIN_GOOD_SHARE - LOW_MARGIN_SHARE))


def _high_level(circuit: OptoNetwork, logic: LogicInput) -> Judged:
    leakage = circuit.coupler.dark_amps + logic.leakage_a

    def margin(supply: float, pull_up: float) -> float:
        return 100 * (supply - leakage * pull_up - logic.vih(supply)) / supply

    spans = {"supply": logic.supply, "pull_up": circuit.pull_up}
    value, corner = worst_corner(margin, lowest=True, units=_UNITS, **spans)
    result = Result(value, 100 * HIGH_MARGIN_SHARE, "% of supply", at_least=True, corner=corner)
    return Judged("high level at the input", result)


def _led_current(circuit: OptoNetwork, drive: Driven) -> Judged:
    milliamps = 1e3 * circuit.line_amps_most(drive.on.greatest)
    limit = 1e3 * circuit.coupler.forward_amps_most
    return Judged("current of the LED", Result(milliamps, limit, "mA", at_least=False, corner=_most(circuit, drive)))


def _threshold_element(circuit: OptoNetwork, drive: Driven) -> tuple[Judged, ...]:
    threshold, amps = circuit.threshold, circuit.line_amps_most(drive.on.greatest)
    if threshold is NO_THRESHOLD:
        return ()
    corner = _most(circuit, drive)
    printed = Result(1e3 * amps, 1e3 * threshold.test_amps, "mA", at_least=False, corner=corner)
    watts = amps * threshold.volts.greatest
    power = Result(1e3 * watts, 1e3 * DISSIPATION_SHARE * threshold.watts, "mW", at_least=False, corner=corner)
    return Judged("current at which the zener is printed", printed), Judged("heat in the zener", power)


def _resistor_power(circuit: OptoNetwork, drive: Driven) -> Judged:
    watts = resistor_watts(circuit, drive)
    limit = DISSIPATION_SHARE * body_for(watts, 0.0).watts
    result = Result(1e3 * watts, 1e3 * limit, "mW", at_least=False, corner=_most(circuit, drive))
    return Judged("heat in the series resistor", result)


def _resistor_volts(circuit: OptoNetwork, drive: Driven, kick_volts: float | None) -> Judged:
    name = "voltage rating of the series resistor"
    if kick_volts is None:
        return Judged(name, None, "the greatest kick of the line")
    volts = max(KICK_FACTOR * kick_volts, drive.on.greatest)
    body = body_for(resistor_watts(circuit, drive), volts)
    return Judged(name, Result(volts, body.volts, "V", at_least=False, corner=f"kick {quantity(kick_volts, 'V')}"))


def _most(circuit: OptoNetwork, drive: Driven) -> str:
    """Return the corner of the greatest current in words."""
    words = [f"line {quantity(drive.on.greatest, 'V')}", f"series {quantity(circuit.series.least, 'Ω')}"]
    if circuit.threshold is not NO_THRESHOLD:
        words.append(f"zener {quantity(circuit.threshold.volts.least, 'V')}")
    if circuit.bypass_span.least < inf:
        words.append(f"bypass {quantity(circuit.bypass_span.least, 'Ω')}")
    return ", ".join((*words, f"forward {quantity(circuit.coupler.forward.least, 'V')}"))
