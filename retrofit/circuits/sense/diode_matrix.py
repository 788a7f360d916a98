"""A diode matrix with our row drive: rows pulled low one at a time, columns with pull-ups, a diode at each key."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import inf

from retrofit.catalogue.figures import CatalogueError
from retrofit.circuits.eseries_values import Series, values_between
from retrofit.circuits.matrix_drive import RESISTOR_TOLERANCE
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span, worst_corner
from retrofit.circuits.sense.design import Felt, Judged, Part, SenseDesign
from retrofit.circuits.sense.limits import (
    HIGH_MARGIN_SHARE,
    LEAST_WAIT_US,
    LOW_MARGIN_GOOD_SHARE,
    LOW_MARGIN_SHARE,
    WAIT_FACTOR,
    WETTING_AMPS,
    WETTING_VOLTS,
)
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.matrix_network import (
    Matrix,
    column_volts,
    driven_amps,
    forward_volts,
    leakage_at,
    row_amps,
)
from retrofit.circuits.settle import column_capacitance_f, rise_time_s, wait_us

CIRCUIT = "diode matrix with our row drive"
LOW_LEVEL, HIGH_LEVEL = "low level of a column", "high level of a column"
SETTLE = "wait between driving a row and reading its columns"
ROW_FAULT = "current of a row's pin at the worst fault of keys and diodes"
COLUMN_FAULT = "current of a row's pin that is low by mistake while columns are charged"
OPEN_VOLTS, CLOSED_AMPS = "voltage on an open contact", "current through a closed contact"
_PULL_UPS_TRIED = (2.2e3, 100e3)
_UNITS = {"supply": "V", "pull_up": "Ω", "series": "Ω", "forward": "V"}
_OURS = Felt(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def best_pull_up(line: Line, behind: LogicInput, *, matrix: Matrix) -> SenseDesign:
    """Return the matrix with the pull-up of series E24 whose worst margin is greatest, its own value left aside."""
    values = values_between(Series.E24, *_PULL_UPS_TRIED)
    designs = [design(line, behind, matrix=replace(matrix, pull_up_ohms=ohms)) for ohms in values]
    return max(designs, key=_worst_margin)


def _worst_margin(found: SenseDesign) -> float:
    worst = found.worst
    percent = None if worst is None or worst.result is None else worst.result.margin_percent
    return -inf if percent is None else percent


def design(line: Line, behind: LogicInput, *, matrix: Matrix) -> SenseDesign:
    """Return the matrix for lines that are ours; refused where the organ still owns them."""
    refusals = () if line.ours else ("the matrix drives its rows through these lines, and the organ owns them",)
    judged = (
        _judge_low(behind, matrix),
        _judge_high(behind, matrix),
        _judge_settle(behind, matrix),
        _judge_open_volts(behind),
        _judge_closed_amps(behind, matrix),
        *_judge_pins(matrix),
    )
    return SenseDesign(
        circuit=CIRCUIT,
        looks_only=False,
        keyed_reads_high=False,
        parts=_parts(matrix),
        judged=judged,
        felt=_OURS if line.ours else Felt(None, None, None, None, None, None),
        refusals=refusals,
        remarks=tuple(_remarks(matrix)),
    )


def _judge_pins(matrix: Matrix) -> Iterator[Judged]:
    if matrix.row_guard is not None:
        yield Judged(ROW_FAULT, matrix.row_guard.pin_current)
    if matrix.precharge is not None:
        yield Judged(COLUMN_FAULT, matrix.precharge.guard.pin_current)


def _remarks(matrix: Matrix) -> Iterator[str]:
    if matrix.row_guard is None:
        yield "rows that are not read are left adrift, so that a shorted diode cannot short two drivers"
    else:
        yield (
            "rows that are not read are driven high: with a shorted diode the other held keys of its column drop out "
            "instead of a ghost being heard; sweep the keys of each column in pairs"
        )
    if matrix.precharge is not None:
        yield (
            "columns are charged behind each row, never while one is low; a column or a row that is shorted to our "
            "return draws only what the resistors let through"
        )


def _parts(matrix: Matrix) -> tuple[Part, ...]:
    pull_up = Part("from each column to our supply", "resistor", matrix.pull_up_ohms, "Ω", matrix.tolerance, "0.25 W")
    guards = tuple(_guards(matrix))
    if matrix.diode is None:
        return (pull_up, *guards)
    diode = Part("at each key, its cathode to the row", f"diode {matrix.diode.name}", 1.0, "pieces", 0.0)
    return pull_up, *guards, diode


def _guards(matrix: Matrix) -> Iterator[Part]:
    if matrix.precharge is not None:
        ohms = matrix.precharge.guard.ohms
        yield Part("from each column to its pin", "resistor", ohms, "Ω", RESISTOR_TOLERANCE, "0.25 W")
    if matrix.row_guard is not None:
        yield Part("in each row at its pin", "resistor", matrix.row_guard.ohms, "Ω", RESISTOR_TOLERANCE, "0.25 W")


def _missing(matrix: Matrix) -> str:
    absent = [
        words
        for words, known in (
            ("the kind of diode", matrix.diode),
            ("the resistance of a row's driver", matrix.low_ohms),
            ("the resistance in series with a key", matrix.series_ohms),
        )
        if known is None
    ]
    return " and ".join(absent)


@dataclass(frozen=True, slots=True)
class _Known:
    """A matrix of which everything is known that its currents follow from; the diode's drop is the greatest."""

    forward: float
    row_ohms: float
    spans: dict[str, Span]


def _known(behind: LogicInput, matrix: Matrix) -> _Known | str:
    """Return what the currents of a matrix follow from, or in words what is missing."""
    if matrix.diode is None or matrix.low_ohms is None or matrix.series_ohms is None:
        return _missing(matrix)
    try:
        forward = forward_volts(matrix.diode, behind.supply.greatest / matrix.pull_up.least, matrix.celsius.least)
    except CatalogueError as error:
        return str(error)
    spans = {"supply": behind.supply, "pull_up": matrix.pull_up, "series": matrix.series_ohms}
    return _Known(forward, matrix.low_ohms, spans)


def _judge_low(behind: LogicInput, matrix: Matrix) -> Judged:
    known, columns = _known(behind, matrix), matrix.columns
    if isinstance(known, str):
        return Judged(LOW_LEVEL, None, missing=known)
    forward, row_ohms = known.forward, known.row_ohms

    def margin(supply: float, pull_up: float, series: float) -> float:
        amps = driven_amps(supply, pull_up, series, forward, row_ohms, columns)
        low = column_volts(amps, series, forward, row_amps(amps, columns) * row_ohms)
        return 100 * (behind.vil(supply) - low) / supply

    value, corner = worst_corner(margin, lowest=True, units=_UNITS, **known.spans)
    corner = f"{corner}, diode {quantity(forward, 'V')} at {matrix.celsius.least:g} °C, {columns} keys of the row held"
    result = Result(value, 100 * LOW_MARGIN_SHARE, "% of supply", at_least=True, corner=corner)
    return Judged(LOW_LEVEL, result, good_from=100 * (LOW_MARGIN_GOOD_SHARE - LOW_MARGIN_SHARE))


def _judge_high(behind: LogicInput, matrix: Matrix) -> Judged:
    if matrix.diode is None:
        return Judged(HIGH_LEVEL, None, missing="the kind of diode")
    hot = leakage_at(matrix.diode.figures["reverse_current"].greatest, matrix.celsius.greatest)
    leakage = matrix.leaking * hot + behind.leakage_a

    def margin(supply: float, pull_up: float) -> float:
        return 100 * (supply - leakage * pull_up - behind.vih(supply)) / supply

    value, corner = worst_corner(margin, lowest=True, units=_UNITS, supply=behind.supply, pull_up=matrix.pull_up)
    corner = f"{corner}, {quantity(leakage, 'A')} of leakage at {matrix.celsius.greatest:g} °C"
    return Judged(HIGH_LEVEL, Result(value, 100 * HIGH_MARGIN_SHARE, "% of supply", at_least=True, corner=corner))


def _judge_settle(behind: LogicInput, matrix: Matrix) -> Judged:
    unknown = {
        "the kind of diode": matrix.diode,
        "the length of the matrix's cable": matrix.cable_m,
        f"the capacitance of {behind.name}": behind.capacitance_pf,
        "how long the scan waits": matrix.wait_us,
    }
    missing = [words for words, known in unknown.items() if known is None]
    if matrix.diode is None or matrix.cable_m is None or behind.capacitance_pf is None or matrix.wait_us is None:
        return Judged(SETTLE, None, missing=" and ".join(missing))
    if matrix.precharge is not None:
        limit = wait_us(matrix.precharge.fall_us)
        corner = f"columns charged: {matrix.precharge.corner}"
        return Judged(SETTLE, Result(matrix.wait_us, limit, "µs", at_least=True, corner=corner))
    cable_f = matrix.cable_m * matrix.cable.picofarads_per_metre.greatest * 1e-12
    diode_f = matrix.diode.figures["capacitance"].greatest
    farads = column_capacitance_f(cable_f, matrix.rows, diode_f, behind.capacitance_pf * 1e-12)

    def wanted(supply: float, pull_up: float) -> float:
        rise_us = 1e6 * rise_time_s(pull_up, farads, behind.vih(supply) / supply)
        return max(LEAST_WAIT_US, WAIT_FACTOR * rise_us)

    limit, corner = worst_corner(wanted, lowest=False, units=_UNITS, supply=behind.supply, pull_up=matrix.pull_up)
    corner = f"{corner}, {1e12 * farads:.0f} pF"
    return Judged(SETTLE, Result(matrix.wait_us, limit, "µs", at_least=True, corner=corner))


def _judge_open_volts(behind: LogicInput) -> Judged:
    value = behind.supply.least
    result = Result(
        value, WETTING_VOLTS, "V", at_least=True, corner=f"supply {quantity(value, 'V')}, no current in the diode"
    )
    return Judged(OPEN_VOLTS, result)


def _judge_closed_amps(behind: LogicInput, matrix: Matrix) -> Judged:
    known = _known(behind, matrix)
    if isinstance(known, str):
        return Judged(CLOSED_AMPS, None, missing=known)
    forward, row_ohms = known.forward, known.row_ohms

    def milliamps(supply: float, pull_up: float, series: float) -> float:
        return 1e3 * driven_amps(supply, pull_up, series, forward, row_ohms, matrix.columns)

    value, corner = worst_corner(milliamps, lowest=True, units=_UNITS, **known.spans)
    return Judged(CLOSED_AMPS, Result(value, 1e3 * WETTING_AMPS, "mA", at_least=True, corner=corner))
