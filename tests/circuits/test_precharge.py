"""Pre-charge and the resistors of a matrix: against scipy's integrator, a circuit simulator, and pins' limits."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, log
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.eseries_values import Series, nearest
from retrofit.circuits.matrix_drive import column_guard, driver_ohms, row_guard
from retrofit.circuits.precharge import ChargedMatrix, precharge
from retrofit.circuits.settle import matrix_settle
from tests.circuits.spice import run_netlist

CATALOGUE = load_catalogue()
BOARD = CATALOGUE.boards["atmega2560"]
MATRIX = ChargedMatrix(
    board=BOARD,
    diode=CATALOGUE.diodes["bat85"],
    cable=CATALOGUE.cables["unknown"],
    cable_m=8.0,
    rows=8,
    columns=8,
    pull_up_ohms=10.5e3,
    row_ohms=45.0,
    contact_ohms=200.0,
    rows_float=True,
)
"""Eight metres of cable: 890 pF on each line."""


@pytest.mark.parametrize(("board", "ohms"), [("atmega2560", 45.0), ("atmega32u4", 70.0), ("rp2040", 125.0)])
def test_a_driver_is_as_strong_as_its_own_data_sheet_says(board: str, ohms: float) -> None:
    """Low output over its current: 0.9 V at 20 mA (Atmel 2549), 0.7 V at 10 mA (Atmel 7766), 0.5 V at 4 mA (RP2040)."""
    assert driver_ohms(CATALOGUE.boards[board]) == pytest.approx(ohms)


def test_a_worked_matrix() -> None:
    """8 m at 100 pF/m, eight diodes of 10 pF and a pin of 10 pF: 890 pF a line, twice that while a row floats.

    1.26 kΩ · 1780 pF · ln 2.5 is 2.06 µs, thrice that 6.2, in whole microseconds 7.
    """
    found = precharge(MATRIX)
    assert pytest.approx(890e-12) == MATRIX.column_f
    assert pytest.approx(1780e-12) == MATRIX.charged_f
    assert found.guard.ohms == 1200
    assert found.charge_us == ceil(3 * 1.26e3 * 1780e-12 * log(2.5) * 1e6) == 7
    assert found.settle_us == 5


def test_charging_is_quicker_than_the_pull_ups_where_lines_are_long() -> None:
    """Eight metres wait 26 µs for 10.5 kΩ and 12 µs when charged; a quarter of a metre gains nothing."""
    plain = matrix_settle(BOARD, MATRIX.diode, MATRIX.cable, cable_m=8.0, pull_up_ohms=10.5e3)
    assert ceil(plain.wait_us) == 26
    assert precharge(MATRIX).row_us == 12
    short = matrix_settle(BOARD, MATRIX.diode, MATRIX.cable, cable_m=0.25, pull_up_ohms=10.5e3)
    assert precharge(replace(MATRIX, cable_m=0.25)).row_us >= ceil(short.wait_us)


def test_rows_that_are_driven_are_not_charged_with_the_columns() -> None:
    """The diode of a held key blocks towards a row that is high: a column fills itself alone."""
    driven = replace(MATRIX, rows_float=False)
    assert driven.charged_f == driven.column_f
    assert precharge(driven).charge_us < precharge(MATRIX).charge_us


@given(st.floats(0.1, 30), st.floats(10, 400), st.floats(0, 900))
@settings(max_examples=20, deadline=None)
def test_the_fall_agrees_with_a_numerical_solver(cable_m: float, row_ohms: float, contact_ohms: float) -> None:
    """scipy's solve_ivp of C·dv/dt = (VDD − v)/Rpu − (v − VF)/(Rrow + Rc): thrice the fall fits the wait."""
    matrix = replace(MATRIX, cable_m=cable_m, row_ohms=row_ohms, contact_ohms=contact_ohms)
    through, forward, tau = row_ohms + contact_ohms, 0.32, matrix.column_f * 1e6

    def slope(_: float, volts: list[float]) -> list[float]:
        return [((4.5 - volts[0]) / 10.5e3 - (volts[0] - forward) / through) / tau]

    def crossing(_: float, volts: list[float]) -> float:
        return volts[0] - 0.3 * 4.5

    solved = solve_ivp(slope, (0, 100), [4.5], events=crossing, rtol=1e-8, atol=1e-10)
    wanted = max(5.0, 3 * solved.t_events[0][0])
    assert wanted <= precharge(matrix).settle_us + 1e-6
    assert precharge(matrix).settle_us <= ceil(wanted + 1e-3)


NETLIST = """a column held low by one row, charged, and pulled down by the next
* supply of the pull-up, and of the column's pin while it charges
vdd vdd 0 4.5
rpu vdd col 10.5k
vpin pin 0 4.5
vctl ctl 0 pulse(0 1 1u 10n 10n {charge_us}u 1)
s1 pin tap ctl 0 gate
rs tap col 1260
.model gate sw(vt=0.5 vh=0.1 ron=1 roff=1g)
* the column's wire, and the row of the key that was held
ccol col 0 890p ic=0.6
d1 col row1 schottky
crow row1 0 890p ic=0.1
* the next row, joined to low 10 ns behind the charging
vdrv drv 0 pulse(0 1 {drive_us}u 10n 10n 1 2)
d2 col key schottky
rkey key row2 200
s2 row2 low drv 0 gate
rlow low 0 45
.model schottky d(is=2e-7 n=1.05 rs=10)
.tran 10n 60u uic
.control
run
meas tran charged find v(col) at={read_us}u
meas tran lowered find v(col) at={end_us}u
meas tran falls when v(col)=1.35 fall=1
.endc
.end
"""


def test_charging_and_falling_agree_with_a_circuit_simulator(tmp_path: Path) -> None:
    """ngspice: when charging ends the column is high with room to spare, and at a third of the wait the next is low."""
    found = precharge(MATRIX)
    drive_us = 1 + found.charge_us + 0.05
    times = {"charge_us": found.charge_us, "drive_us": drive_us, "read_us": drive_us - 0.02}
    (shown,) = run_netlist(tmp_path, NETLIST.format(**times, end_us=drive_us + found.settle_us))
    assert shown["charged"] > 0.6 * 4.5 * 1.2
    assert shown["lowered"] < 0.3 * 4.5
    assert 1e6 * shown["falls"] - drive_us <= found.settle_us / 3


def test_a_third_of_the_charging_already_reaches_the_threshold(tmp_path: Path) -> None:
    """ngspice: the time is three times what the slowest column needs, so that a third of it is just enough."""
    third = 1.26e3 * 1780e-12 * log(2.5) * 1e6
    times = {"charge_us": third, "drive_us": 50, "read_us": 1 + third, "end_us": 55}
    (shown,) = run_netlist(tmp_path, NETLIST.format(**times))
    assert 0.6 * 4.5 <= shown["charged"] <= 0.75 * 4.5


@pytest.mark.parametrize("columns", range(2, 9))
def test_no_pin_bears_too_much_while_columns_are_charged(columns: int) -> None:
    """A row low by mistake with all keys held sinks columns · 5.5 V over the least resistor: within 40 mA (Atmel 2549).

    A column shorted to our return draws a share of that, and all pins together stay within 200 mA.
    """
    guard = column_guard(BOARD, columns)
    each_a = 5.5 / (0.95 * guard.ohms)
    assert columns * each_a <= 0.040
    assert guard.pin_current.value == pytest.approx(1e3 * columns * each_a)
    assert columns * each_a <= BOARD.figures["total_current"].greatest
    assert guard.ohms == pytest.approx(nearest(Series.E24, guard.ohms))


@pytest.mark.parametrize("rows", range(2, 9))
def test_no_pin_bears_too_much_while_driven_rows_fight(rows: int) -> None:
    """One row sinks through its resistor what all others send through theirs in parallel: within 40 mA (Atmel 2549)."""
    guard = row_guard(BOARD, rows)
    least = 0.95 * guard.ohms
    fight_a = 5.5 / (least + least / (rows - 1))
    assert fight_a <= 0.040
    assert guard.pin_current.value == pytest.approx(1e3 * fight_a)
    assert guard.pin_current.passes


def test_one_resistor_less_would_not_do() -> None:
    """The value of E24 below the chosen one lets a pin bear more than its limit."""
    guard = row_guard(BOARD, 8)
    below = nearest(Series.E24, guard.ohms * 0.92)
    assert below < guard.ohms
    assert 5.5 / (0.95 * below * (1 + 1 / 7)) > 0.040


def test_one_row_has_nothing_to_fight() -> None:
    """A guard of a single row is asked for by mistake."""
    with pytest.raises(ValueError, match="1 rows found"):
        row_guard(BOARD, 1)


def test_a_key_that_cannot_pull_low_is_refused() -> None:
    """A contact of 5 kΩ leaves its column above the low level: no wait helps, and the words say so."""
    with pytest.raises(ValueError, match="the most that reads low"):
        precharge(replace(MATRIX, contact_ohms=5e3))
