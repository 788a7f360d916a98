"""The diode matrix against its worked example, and against ngspice with real diode models."""

from __future__ import annotations

from dataclasses import replace
from math import log
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.catalogue.load import load_catalogue
from retrofit.catalogue.parts import Diode
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import SenseDesign, Verdict
from retrofit.circuits.sense.diode_matrix import best_pull_up, design
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import pin_input
from retrofit.circuits.sense.matrix_network import (
    Matrix,
    column_volts,
    driven_amps,
    forward_volts,
    key_amps,
    largest_series_ohms,
    leakage_at,
    leaked_volts,
    row_amps,
)
from tests.circuits.spice import run_netlist

CATALOGUE = load_catalogue()
PIN = pin_input(CATALOGUE.boards["atmega2560"])
SILICON, SCHOTTKY = CATALOGUE.diodes["1n4148"], CATALOGUE.diodes["bat85"]
OURS = Line(None, None, ours=True)
MATRIX = Matrix(
    SILICON, CATALOGUE.cables["unknown"], row_ohms=45.0, series_ohms=Span(0, 330), cable_m=2.0, wait_us=15.0
)


def _worked(
    supply: float, forward: float, pull_up: float = 9500, series: float = 330, low: float = 0.10
) -> tuple[float, float]:
    """Return milliamperes and column volts of the worked matrix."""
    amps = key_amps(supply, pull_up, series, forward, low)
    return round(1e3 * amps, 4), round(column_volts(amps, series, forward, low), 3)


def test_the_worked_levels() -> None:
    """Ex 7: silicon at 3.3 V 0.903 V, Schottky 0.575 V, silicon at 5 V 0.960 V; their margins to 0.3 of the supply."""
    assert _worked(3.3, 0.72) == (0.2523, 0.903)
    assert _worked(3.3, 0.38) == (0.2869, 0.575)
    assert _worked(5.0, 0.72) == (0.4252, 0.960)
    assert [round(0.99 - 0.903, 3), round(0.99 - 0.575, 3), round(1.5 - 0.960, 3)] == [0.087, 0.415, 0.540]


def test_the_worked_weak_pull_up() -> None:
    """Ex 7: 47 kΩ, 0.66 V, 0.05 V and 100 Ω at 3.3 V give 0.716 V but only 0.058 mA less tolerance."""
    amps = key_amps(3.3, 47e3 * 0.95, 100, 0.66, 0.05)
    assert round(column_volts(amps, 100, 0.66, 0.05), 3) == 0.716
    assert 0.99 - column_volts(amps, 100, 0.66, 0.05) == pytest.approx(0.274, abs=0.0005)
    assert round(1e3 * amps, 3) == 0.058


def test_the_worked_series_resistance() -> None:
    """Ex 7: until the margin is gone silicon tolerates 699 Ω in all at 3.3 V with 0.1 V of driver, Schottky 2097 Ω."""
    found = [largest_series_ohms(3.3, 9500, forward, 0.10, 0.99) for forward in (0.72, 0.38)]
    assert [round(ohms) for ohms in found] == [699, 2097]


def test_the_worked_true_limits() -> None:
    """Ex 7: VIL 0.9 V at 5 V: silicon misses by 0.06 V; 0.8 V at 3.3 V: silicon fails, Schottky keeps 0.225 V."""
    assert round(0.9 - _worked(5.0, 0.72)[1], 2) == -0.06
    assert 0.8 - _worked(3.3, 0.72)[1] < 0
    assert round(0.8 - _worked(3.3, 0.38)[1], 3) == 0.225


def test_the_worked_row_and_leakage() -> None:
    """Ex 7: a whole row of Schottky keys 2.30 mA; 5 µA of leakage takes 0.35 V, 50 µA hot 3.5 V."""
    assert round(1e3 * row_amps(key_amps(3.3, 9500, 330, 0.38, 0.10), 8), 2) == pytest.approx(2.30, abs=0.005)
    assert leaked_volts(5e-6, 8, 10e3) == pytest.approx(0.35)
    assert leaked_volts(50e-6, 8, 10e3) == pytest.approx(3.5)
    assert round(3.3 - 0.35 - 2.31, 2) == 0.64


# Models from memory: textbook models of the 1N4148 and the BAT85.
COLUMN = """a column of eight rows: one row driven low with all its keys held, the others adrift
.model si d(is=2.52n n=1.752 rs=0.568 cjo=4p m=0.4 tt=20n bv=110 ibv=100u)
.model sch d(is=211n n=1.016 rs=2.326 cjo=11.2p vj=0.2 m=0.35 bv=36 ibv=2.6u)
vdd vdd 0 {supply}
rrow row 0 {row_ohms}
{keys}
.options temp={celsius}
.control
op
print v(c1)
print i(vdd)
.endc
.end
"""


def _keys(model: str, pull_up: float, series: float) -> str:
    return "\n".join(f"rp{n} vdd c{n} {pull_up}\nrs{n} c{n} a{n} {series}\nd{n} a{n} row {model}" for n in range(1, 9))


def _simulated(folder: Path, model: str, supply: float, pull_up: float, celsius: float) -> tuple[float, float]:
    """Return column volts and total amperes of a whole row held."""
    keys = _keys(model, pull_up, 330)
    netlist = COLUMN.format(supply=supply, row_ohms=45, keys=keys, celsius=celsius)
    (found,) = run_netlist(folder, netlist)
    return found["v(c1)"], -found["i(vdd)"]


CORNERS = [(supply, pull_up, celsius) for supply in (4.5, 5.5) for pull_up in (9500, 10500) for celsius in (0, 25, 50)]


@pytest.mark.parametrize(("supply", "pull_up", "celsius"), CORNERS)
@pytest.mark.parametrize(("model", "diode"), [("si", SILICON), ("sch", SCHOTTKY)])
def test_levels_are_never_understated(
    tmp_path: Path, model: str, diode: Diode, supply: float, pull_up: float, celsius: float
) -> None:
    """ngspice with a real diode never shows a column higher than ours, whose forward volts are the greatest printed."""
    volts, _ = _simulated(tmp_path, model, supply, pull_up, celsius)
    forward = forward_volts(diode, supply / pull_up, celsius)
    amps = driven_amps(supply, pull_up, 330, forward, 45, 8)
    assert volts <= column_volts(amps, 330, forward, row_amps(amps, 8) * 45)


@pytest.mark.parametrize(("supply", "pull_up", "celsius"), CORNERS)
@pytest.mark.parametrize("model", ["si", "sch"])
def test_the_linear_part_agrees(tmp_path: Path, model: str, supply: float, pull_up: float, celsius: float) -> None:
    """With the diode's simulated drop put in, current and level agree with ngspice within 1 %."""
    volts, total = _simulated(tmp_path, model, supply, pull_up, celsius)
    forward = volts - total * 45 - total / 8 * 330
    amps = driven_amps(supply, pull_up, 330, forward, 45, 8)
    assert row_amps(amps, 8) == pytest.approx(total, rel=0.01)
    assert column_volts(amps, 330, forward, row_amps(amps, 8) * 45) == pytest.approx(volts, rel=0.01)


def test_the_deciding_corner_is_that_of_the_simulator(tmp_path: Path) -> None:
    """Over supply, pull-up and temperature the least margin to 0.3 of the supply is at the same corner in ngspice."""

    def margin(corner: tuple[float, float, float]) -> float:
        supply, pull_up, celsius = corner
        return 0.3 - _simulated(tmp_path, "si", supply, pull_up, celsius)[0] / supply

    low = _result(design(OURS, PIN, matrix=MATRIX), "low level")
    supply, pull_up, celsius = min(CORNERS, key=margin)
    assert f"supply {quantity(supply, 'V')}, pull up {quantity(pull_up, 'Ω')}" in low.corner
    assert f"at {celsius:g} °C" in low.corner


def _result(found: SenseDesign, words: str) -> Result:
    result = next(judged.result for judged in found.judged if words in judged.criterion)
    assert result is not None
    return result


def test_a_low_level_is_judged_cold_with_the_whole_row_held() -> None:
    """The printed 1.0 V and 50 mV for 25 K of cold, 330 Ω of the key, and eight keys through 45 Ω of the driver."""
    low = _result(design(OURS, PIN, matrix=MATRIX), "low level")
    amps = (4.5 - 1.05) / (9500 + 330 + 8 * 45)
    assert low.value == pytest.approx(100 * (0.3 * 4.5 - (1.05 + 330 * amps + 8 * 45 * amps)) / 4.5)


def test_settling_is_judged_from_the_parts() -> None:
    """Three times the rise of 242 pF through the greatest pull-up to 0.6 of the supply."""
    settle = _result(design(OURS, PIN, matrix=MATRIX), "wait")
    farads = 2 * 100e-12 + 8 * 4e-12 + 10e-12
    assert settle.limit == pytest.approx(3e6 * 10500 * farads * log(2.5))
    assert settle.passes
    assert not _result(design(OURS, PIN, matrix=replace(MATRIX, wait_us=6.0)), "wait").passes


def test_leakage_counts_every_key_unless_fewer_are_held() -> None:
    """With idle rows adrift (R − 1)(C − 1) diodes leak; each needs a held key, so ten keys leak through ten at most."""
    assert MATRIX.leaking == 49
    assert replace(MATRIX, most_held=10).leaking == 10
    high = _result(design(OURS, PIN, matrix=MATRIX), "high level")
    leak = 49 * leakage_at(25e-9, 50) + PIN.leakage_a
    assert high.value == pytest.approx(min(100 * (v - leak * 10500 - PIN.vih(v)) / v for v in (4.5, 5.5)))


def test_a_hot_schottky_matrix_fails_its_high_level() -> None:
    """The printed 2 µA, doubled every 10 K to 50 °C and times 49, drowns a 10 kΩ pull-up."""
    assert not _result(design(OURS, PIN, matrix=replace(MATRIX, diode=SCHOTTKY)), "high level").passes


def test_leakage_doubles_every_ten_kelvin() -> None:
    """25 nA at 25 °C are 200 nA at 55 °C (from memory)."""
    assert leakage_at(25e-9, 55) == pytest.approx(200e-9)


@pytest.mark.parametrize(
    ("matrix", "missing"),
    [
        (replace(MATRIX, diode=None), "the kind of diode"),
        (replace(MATRIX, row_ohms=None), "the resistance of a row's driver"),
        (replace(MATRIX, series_ohms=None), "the resistance in series with a key"),
        (replace(MATRIX, cable_m=None), "the length of the matrix's cable"),
        (replace(MATRIX, wait_us=None), "how long the scan waits"),
        (replace(MATRIX, pull_up_ohms=10.0), "the table ends at"),
    ],
)
def test_what_is_unknown_stays_unknown(matrix: Matrix, missing: str) -> None:
    """Each figure that rests on something unknown is unknown, and says what; a diode is not judged beyond its table."""
    found = design(OURS, PIN, matrix=matrix)
    assert any(missing in judged.missing for judged in found.judged if judged.verdict is Verdict.UNKNOWN)


def test_an_input_of_unknown_capacitance_has_no_settling() -> None:
    """The wait cannot be judged without what hangs on the column."""
    found = design(OURS, replace(PIN, capacitance_pf=None), matrix=MATRIX)
    assert any("the capacitance of" in judged.missing for judged in found.judged)


def test_lines_of_the_organ_are_refused() -> None:
    """A matrix drives: on lines that the organ owns it is refused, and is never look-only."""
    found = design(replace(OURS, ours=False), PIN, matrix=MATRIX)
    assert found.verdict is Verdict.FAILS
    assert "the organ owns them" in found.refusals[0]
    assert not found.looks_only


def test_the_chosen_pull_up_has_the_greatest_worst_margin() -> None:
    """No other value of E24 does better than the one that is chosen."""
    best = best_pull_up(OURS, PIN, matrix=MATRIX)
    assert best.worst is not None
    assert best.worst.result is not None
    percent = best.worst.result.margin_percent
    assert percent is not None
    for ohms in (4.7e3, 10e3, 22e3, 47e3):
        other = design(OURS, PIN, matrix=replace(MATRIX, pull_up_ohms=ohms)).worst
        assert other is not None
        assert other.result is not None
        assert (other.result.margin_percent or 0.0) <= percent


@given(st.floats(0, 0.2), st.floats(0, 0.2))
def test_more_tolerance_never_improves_a_margin(first: float, second: float) -> None:
    """Every judged figure with worse pull-ups is no better."""
    tight, loose = (design(OURS, PIN, matrix=replace(MATRIX, tolerance=t)) for t in sorted((first, second)))
    for better, worse in zip(tight.judged, loose.judged, strict=True):
        assert better.result is not None
        assert worse.result is not None
        assert worse.result.margin <= better.result.margin + 1e-9


@given(st.floats(0.1, 10))
def test_scaling_resistances_scales_currents_inversely(factor: float) -> None:
    """All resistances so many times greater: as many times less current, and the same level."""
    amps, scaled = (driven_amps(5, 10e3 * k, 330 * k, 0.6, 45 * k, 8) for k in (1.0, factor))
    assert scaled == pytest.approx(amps / factor)
    assert column_volts(scaled, 330 * factor, 0.6, 8 * scaled * 45 * factor) == pytest.approx(
        column_volts(amps, 330, 0.6, 8 * amps * 45)
    )
