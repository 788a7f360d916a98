"""Settling against worked examples, a numerical solver and a circuit simulator."""

from __future__ import annotations

import re
import subprocess
from math import log
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.settle import (
    ASSUMED_CABLE_M,
    column_capacitance_f,
    fall_time_s,
    matrix_settle,
    rise_time_s,
    wait_us,
)
from tests.tools import require_tool

CATALOGUE = load_catalogue()
BOARD = CATALOGUE.boards["atmega2560"]
CABLE = CATALOGUE.cables["unknown"]
DIODE = CATALOGUE.diodes["1n4148"]


def test_settling_of_a_worked_matrix() -> None:
    """Ex 8: 222 pF, 2.22 µs, 2.67 µs to 0.7 of the supply, thrice that 8.02 µs, eight rows of 2 µs more 80.1 µs."""
    farads = column_capacitance_f(180e-12, 8, 4e-12, 10e-12)
    assert farads == pytest.approx(222e-12)
    threshold_us = 1e6 * rise_time_s(10e3, farads, 0.7)
    assert round(1e6 * 10e3 * farads, 2) == 2.22
    assert round(threshold_us, 2) == 2.67
    assert round(wait_us(threshold_us), 2) == 8.02
    assert round(8 * (wait_us(threshold_us) + 2), 1) == 80.1


def test_settling_of_a_worked_bus() -> None:
    """Ex 6: 190 pF and 10 kΩ rise to 0.7 of the supply in 2.29 µs."""
    assert round(1e6 * rise_time_s(10e3, 3 * 60e-12 + 10e-12, 0.7), 2) == 2.29


def test_settling_of_a_worked_toe_stud() -> None:
    """Ex 16: 1 kΩ and 100 nF rise in 2.53 ms (20 kΩ), 6.14 ms (50 kΩ), 1.32 ms (10 kΩ), 0.686 ms (4.7 kΩ)."""
    rises = [1e3 * rise_time_s(1e3 + pull_up, 100e-9, 0.7) for pull_up in (20e3, 50e3, 10e3, 4.7e3)]
    assert [round(rise, 2) for rise in rises[:3]] == [2.53, 6.14, 1.32]
    assert round(rises[3], 3) == 0.686


def test_fall_of_a_worked_toe_stud() -> None:
    """Ex 16: with 10 kΩ from 3.3 V on the way to 0.300 V, 0.3 of the supply is passed after 0.134 ms."""
    both = 1e3 * 10e3 / (1e3 + 10e3)
    assert round(1e3 * fall_time_s(both, 100e-9, 3.3, 0.3, 0.99), 3) == 0.134


def test_rise_of_the_two_wire_bus() -> None:
    """NXP UM10204 rev. 5, section 7.1: from 0.3 to 0.7 of the supply in 0.8473 RC."""
    assert round(rise_time_s(1, 1, 0.7) - rise_time_s(1, 1, 0.3), 4) == 0.8473


@given(st.floats(100, 1e6), st.floats(1e-12, 1e-6), st.floats(0.05, 0.95))
def test_rise_agrees_with_a_numerical_solver(ohms: float, farads: float, fraction: float) -> None:
    """scipy's solve_ivp, stopped where dv/dt = (1 − v)/RC crosses the threshold, gives the same time."""
    tau = ohms * farads

    def slope(_: float, volts: list[float]) -> list[float]:
        return [1 - volts[0]]

    def crossing(_: float, volts: list[float]) -> float:
        return volts[0] - fraction

    solved = solve_ivp(slope, (0, 6), [0.0], events=crossing, rtol=1e-9, atol=1e-12)
    assert rise_time_s(ohms, farads, fraction) == pytest.approx(solved.t_events[0][0] * tau, rel=1e-6)


def test_rise_agrees_with_a_circuit_simulator(tmp_path: Path) -> None:
    """ngspice: 5 V through 10 kΩ into 100 nF crosses 3.5 V and 2.5 V when the formula says."""
    circuit = tmp_path / "rise.cir"
    circuit.write_text(
        "rise through a resistor\n"
        "v1 in 0 pwl(0 0 1n 5)\nr1 in out 10k\nc1 out 0 100n ic=0\n"
        ".tran 0.1u 3m uic\n"
        ".measure tran high when v(out)=3.5 rise=1\n.measure tran half when v(out)=2.5 rise=1\n.end\n",
        encoding="ascii",
    )
    command = [require_tool("ngspice", "ngspice"), "-b", str(circuit)]
    shown = subprocess.run(command, check=True, capture_output=True, text=True, timeout=60).stdout
    measured = {name: float(value) for name, value in re.findall(r"^(high|half)\s*=\s*(\S+)", shown, re.MULTILINE)}
    assert measured["high"] == pytest.approx(rise_time_s(10e3, 100e-9, 0.7), rel=1e-3)
    assert measured["half"] == pytest.approx(rise_time_s(10e3, 100e-9, 0.5), rel=1e-3)


@given(st.floats(0.1, 10), st.floats(0.01, 0.49))
def test_fall_mirrors_rise(tau: float, fraction: float) -> None:
    """Falling to a share of the start takes as long as rising to the rest."""
    assert fall_time_s(tau, 1, 1, 0, fraction) == pytest.approx(rise_time_s(tau, 1, 1 - fraction))


def test_a_wait_is_never_shorter_than_five_microseconds() -> None:
    """A fast line still waits 5 µs; a slow one three times its time to the threshold (common practice, no source)."""
    assert wait_us(0.1) == 5.0
    assert wait_us(4.0) == 12.0


def test_matrix_wait_follows_from_the_parts() -> None:
    """The weakest pull-up, the most capacitance and the board's VIH of 0.6 decide: three times 50 kΩ · C · ln 2.5."""
    settling = matrix_settle(BOARD, DIODE, CABLE, cable_m=2.0, rows=8)
    farads = 2 * 100e-12 + 8 * 4e-12 + 10e-12
    assert settling.capacitance_pf == pytest.approx(farads * 1e12)
    assert settling.to_threshold_us == pytest.approx(1e6 * 50e3 * farads * log(2.5))
    assert settling.wait_us == pytest.approx(3 * settling.to_threshold_us)
    assert settling.corner == "pull-up 50 kΩ, 242 pF"
    assert settling.assumptions == ()


def test_a_fitted_pull_up_replaces_the_boards_own() -> None:
    """A resistor of 10 kΩ settles five times sooner than the board's weakest pull-up."""
    own = matrix_settle(BOARD, DIODE, CABLE, cable_m=2.0)
    fitted = matrix_settle(BOARD, DIODE, CABLE, cable_m=2.0, pull_up_ohms=10e3)
    assert own.to_threshold_us == pytest.approx(5 * fitted.to_threshold_us)


def test_an_unmeasured_cable_is_assumed_and_marked() -> None:
    """Without a length the stated one is taken, and said."""
    unknown = matrix_settle(BOARD, DIODE, CABLE, cable_m=None)
    assert unknown.wait_us == matrix_settle(BOARD, DIODE, CABLE, cable_m=ASSUMED_CABLE_M).wait_us
    assert unknown.assumptions == ("the cable to the matrix is taken as 3 m long",)
