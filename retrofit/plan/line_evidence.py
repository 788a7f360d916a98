"""From the readings of a job file to what a line is judged by."""

from __future__ import annotations

from math import inf

from retrofit.circuits.line.evidence import USUAL_METER_OHMS, Evidence, Structure, Taken, meter_error_volts
from retrofit.circuits.result import Span
from retrofit.plan.last_digit import last_digit
from retrofit.survey.base import Ternary
from retrofit.survey.bench import Reading, ReadingState
from retrofit.survey.contacts import GroupBase
from retrofit.survey.instrument import Polarity, Supply
from retrofit.survey.job import Job
from retrofit.survey.readings import DeadReadings, LineReading, Load, State
from retrofit.survey.wiring import Wiring


def lines_read(group: GroupBase) -> tuple[str, ...]:
    """Return the lines of a group that have readings, the most read first, else in the order of the file."""
    names = [reading.line for reading in group.wiring.readings]
    return tuple(sorted(dict.fromkeys(names), key=lambda name: -names.count(name)))


def line_evidence(job: Job, group: GroupBase, line: str) -> Evidence:
    """Return everything that is known of one line of a group, named as in its readings."""
    wiring = group.wiring
    return Evidence(
        taken=tuple(_taken(reading) for reading in wiring.readings if reading.line == line),
        structure=_structure(wiring.dead),
        meter_ohms=wiring.meter_input.value or USUAL_METER_OHMS,
        supply_volts=_supply_volts(job, wiring),
        other_lines_volts=tuple(_others(wiring, line)),
    )


def assumed(wiring: Wiring) -> tuple[str, ...]:
    """Return what is taken for granted about the meter."""
    if wiring.meter_input.value:
        return ()
    return (f"meter input taken as the usual {USUAL_METER_OHMS / 1e6:g} MΩ; write meter_input where it is another",)


def volts_span(reading: Reading) -> Span | None:
    """Return volts between the errors of the meter, or None when there is no number."""
    if reading.value is None:
        return None
    error = meter_error_volts(reading.value, last_digit(reading))
    return Span(reading.value - error, reading.value + error)


def feeding_supply(job: Job, wiring: Wiring) -> Supply | None:
    """Return the one supply that feeds all commons of a group; None when it is not said or they differ."""
    names = {common.supply for common in wiring.commons}
    found = [supply for supply in job.supplies if supply.id in names]
    return found[0] if len(names) == 1 and found else None


def _taken(reading: LineReading) -> Taken:
    volts = reading.volts.value
    return Taken(
        reading.state,
        reading.load,
        volts,
        0.0 if volts is None else meter_error_volts(volts, last_digit(reading.volts)),
        reading.ac_volts.value,
        wanders=reading.volts.state is ReadingState.WANDERS,
        overload=reading.volts.state is ReadingState.OPEN,
    )


def _structure(dead: DeadReadings) -> Structure:
    return Structure(
        bus_to_supply_ohms=_number(dead.bus_to_supply),
        line_to_return_ohms=_number(dead.line_to_return),
        line_to_supply_ohms=_number(dead.line_to_supply),
        series_ohms=_number(dead.series),
        diode_forward_volts=_number(dead.diode_forward),
        diode_reverse_volts=_number(dead.diode_reverse),
        leaves=dead.leaves,
        fall_time_s=dead.fall_time.value,
        frequency_hz=_rhythm(dead.frequency),
        switched_by_stop=_answer(dead.switched_by_stop),
        sweeps=_answer(dead.sweeps),
        moves_by_itself=_answer(dead.moves_by_itself),
    )


def _number(reading: Reading) -> float | None:
    """Return the number; what a meter shows as OL is infinite."""
    return inf if reading.state is ReadingState.OPEN else reading.value


def _rhythm(reading: Reading) -> float | None:
    """Return the frequency; a meter that finds none shows OL or 0."""
    return 0.0 if reading.state is ReadingState.OPEN else reading.value


def _answer(answer: Ternary) -> bool | None:
    return None if answer is Ternary.UNKNOWN else answer is Ternary.YES


def _supply_volts(job: Job, wiring: Wiring) -> float | None:
    supply = feeding_supply(job, wiring)
    if supply is None:
        return None
    found = (supply.volts_typical.value, supply.volts_rest.value, supply.volts_full.value)
    volts = next((volts for volts in found if volts is not None), None)
    return -abs(volts) if volts is not None and supply.polarity is Polarity.NEGATIVE else volts


def _others(wiring: Wiring, line: str) -> list[Span]:
    """Return the latest keyed volts, with the meter alone, of every other line."""
    latest = {
        reading.line: reading.volts
        for reading in wiring.readings
        if reading.line != line and (reading.state, reading.load) == (State.KEYED, Load.METER)
    }
    return [span for reading in latest.values() if (span := volts_span(reading)) is not None]
