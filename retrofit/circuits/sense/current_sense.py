"""The current in the common of a group of lines: how many lines are on, without touching any of them."""

from __future__ import annotations

from enum import StrEnum

from retrofit.circuits.eseries_values import Series, next_below
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result
from retrofit.circuits.sense.audio import audio_refusals, audio_unknown
from retrofit.circuits.sense.design import Felt, Judged, Part, SenseDesign
from retrofit.circuits.sense.limits import DISSIPATION_SHARE, ORGAN_SUPPLY_CHANGE_SHARE
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.resistor_bodies import body_for

SHUNT_TOLERANCE = 0.05
HALL_OHMS = 1.2e-3
"""Conductor inside a small Hall current sensor, greatest; from memory."""
COUNT_ERROR_SHARE = 0.5
"""The error of all lines together must stay below half of one line, or the count is wrong by one."""
_NOTHING_FELT = Felt(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


class CurrentSensor(StrEnum):
    """What measures the current."""

    SHUNT = "shunt in the common"
    HALL = "Hall sensor on the common"


def design(
    line: Line,
    logic: LogicInput,
    *,
    sensor: CurrentSensor = CurrentSensor.SHUNT,
    amps_tolerance: float | None = None,
    step_volts_least: float | None = None,
    hall_volts_per_amp: float | None = None,
) -> SenseDesign:
    """Return a sensor in the common of `lines_at_once` lines.

    `amps_tolerance` is how far the current of one line strays from the usual; `step_volts_least` the least change of
    volts that the converter behind it can tell; `hall_volts_per_amp` the sensitivity of a Hall sensor.  More than one
    line is refused as a way of reading keys, because a count does not say which.
    """
    amps, supply_volts = line.keyed_amps, _supply_volts_least(line)
    ohms = _ohms(sensor, amps, line.lines_at_once, supply_volts)
    judged = (
        _volts_dropped(ohms, amps, line.lines_at_once, supply_volts),
        _count(amps_tolerance, line.lines_at_once),
        _step(sensor, ohms, amps, step_volts_least, hall_volts_per_amp),
        *_shunt_heat(sensor, ohms, amps, line.lines_at_once),
        *audio_unknown(line),
    )
    return SenseDesign(
        circuit=str(sensor),
        looks_only=sensor is CurrentSensor.HALL,
        keyed_reads_high=True,
        parts=_parts(sensor, ohms, amps, line.lines_at_once),
        judged=judged,
        felt=_NOTHING_FELT,
        refusals=(*audio_refusals(line), *_count_refusals(line)),
        remarks=_remarks(sensor, logic),
    )


def dropped_volts(ohms: float, amps: float, lines: int) -> float:
    """Return the volts lost in the common with so many lines on."""
    return ohms * amps * lines


def _supply_volts_least(line: Line) -> float | None:
    spans = [span for span in (line.idle_volts, line.keyed_volts) if span is not None]
    least = max((min(abs(span.least), abs(span.greatest)) for span in spans), default=0.0)
    return least or None


def _ohms(sensor: CurrentSensor, amps: float | None, lines: int, supply_volts: float | None) -> float | None:
    """Return the greatest shunt whose drop stays within the allowed change of the organ's supply."""
    if sensor is CurrentSensor.HALL:
        return HALL_OHMS
    if not amps or supply_volts is None:
        return None
    allowed = ORGAN_SUPPLY_CHANGE_SHARE * supply_volts / (abs(amps) * lines)
    return next_below(Series.E24, allowed / (1 + SHUNT_TOLERANCE))


def _volts_dropped(ohms: float | None, amps: float | None, lines: int, supply_volts: float | None) -> Judged:
    name = "volts dropped in the common"
    if ohms is None or not amps or supply_volts is None:
        return Judged(name, None, "the volts of the line and the current of its own load")
    greatest = ohms * (1 + SHUNT_TOLERANCE)
    volts = dropped_volts(greatest, abs(amps), lines)
    corner = f"{quantity(greatest, 'Ω')}, {lines} lines of {quantity(abs(amps), 'A')}"
    return Judged(name, Result(volts, ORGAN_SUPPLY_CHANGE_SHARE * supply_volts, "V", at_least=False, corner=corner))


def _count(amps_tolerance: float | None, lines: int) -> Judged:
    name = "error of the count"
    if amps_tolerance is None:
        return Judged(name, None, "how far the current differs from line to line")
    error = amps_tolerance * lines
    corner = f"{lines} lines, each {amps_tolerance:.0%} off the same way"
    return Judged(name, Result(error, COUNT_ERROR_SHARE, "lines", at_least=False, corner=corner))


def _step(
    sensor: CurrentSensor,
    ohms: float | None,
    amps: float | None,
    step_volts_least: float | None,
    hall_volts_per_amp: float | None,
) -> Judged:
    name = "change of volts for one line"
    per_amp = hall_volts_per_amp if sensor is CurrentSensor.HALL else ohms
    if per_amp is None or not amps or step_volts_least is None:
        return Judged(name, None, "the sensor's volts for one line and what the converter behind it can tell apart")
    volts = abs(amps) * per_amp * (1 - SHUNT_TOLERANCE)
    corner = f"{quantity(abs(amps), 'A')}, {per_amp * (1 - SHUNT_TOLERANCE):.3g} V/A"
    return Judged(name, Result(volts, step_volts_least, "V", at_least=True, corner=corner))


def _shunt_heat(sensor: CurrentSensor, ohms: float | None, amps: float | None, lines: int) -> tuple[Judged, ...]:
    if sensor is CurrentSensor.HALL:
        return ()
    if ohms is None or not amps:
        return (Judged("heat in the shunt", None, "the current of the line's own load"),)
    watts = _watts(ohms, amps, lines)
    limit = DISSIPATION_SHARE * body_for(watts, 0.0).watts
    return (Judged("heat in the shunt", Result(watts, limit, "W", at_least=False, corner=f"{lines} lines on")),)


def _watts(ohms: float, amps: float, lines: int) -> float:
    return (amps * lines) ** 2 * ohms * (1 + SHUNT_TOLERANCE)


def _parts(sensor: CurrentSensor, ohms: float | None, amps: float | None, lines: int) -> tuple[Part, ...]:
    if sensor is CurrentSensor.HALL:
        return (Part("round or in the common", "Hall current sensor", 1, "piece", 0.0),)
    if ohms is None or not amps:
        return ()
    body = body_for(_watts(ohms, amps, lines), 0.0)
    return (Part("in the common", "resistor", ohms, "Ω", SHUNT_TOLERANCE, body.words),)


def _count_refusals(line: Line) -> tuple[str, ...]:
    if line.lines_at_once == 1:
        return ()
    return (
        f"the common tells only how many of up to {line.lines_at_once} lines are on, not which: "
        "sense each line, and keep this for watching the supply",
    )


def _remarks(sensor: CurrentSensor, logic: LogicInput) -> tuple[str, ...]:
    converter = f"the volts go to a converter channel, not to {logic.name}"
    if sensor is CurrentSensor.HALL:
        return (converter,)
    return (converter, "the common must be opened to put the shunt in: not for a console that preserves its originals")
