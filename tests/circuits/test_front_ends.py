"""Settling of a multiplexer's common and the clock of the expanders' bus, against scipy and published windows."""

from __future__ import annotations

import pytest
from scipy.integrate import solve_ivp

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.bus_clock import highest_bus_hz
from retrofit.circuits.common_settle import common_settle
from retrofit.circuits.pullup import judge_pull_up, sense_on_expander, sense_through_multiplexer

CATALOGUE = load_catalogue()
BOARD = CATALOGUE.boards["atmega2560"]
CABLE = CATALOGUE.cables["unknown"]
PART = CATALOGUE.multiplexers["74hc4067"]
EXPANDER = CATALOGUE.expanders["mcp23017"]


def test_a_common_rises_as_the_differential_equation_says() -> None:
    """The time to 0.6 of the supply of a resistor and a capacitor in series, integrated by scipy."""
    wait = common_settle(BOARD, PART, CABLE, cable_m=2.0, pull_up_ohms=10_500)
    ohms, farads = 10_500 + 270, wait.capacitance_pf * 1e-12

    def rise(_t: float, volts: list[float]) -> list[float]:
        return [(1 - volts[0]) / (ohms * farads)]

    def high(_t: float, volts: list[float]) -> float:
        return volts[0] - 0.6

    solved = solve_ivp(rise, (0, 1e-4), [0.0], events=high, rtol=1e-9, atol=1e-12)
    assert wait.to_threshold_us == pytest.approx(1e6 * solved.t_events[0][0], rel=1e-4)
    assert wait.wait_us == pytest.approx(3 * wait.to_threshold_us)


def test_a_common_carries_cable_part_and_pin() -> None:
    """2 m at 100 pF/m, twice the typical 45 pF and 5 pF of the part, and the controller's 10 pF."""
    assert common_settle(BOARD, PART, CABLE, cable_m=2.0, pull_up_ohms=10_500).capacitance_pf == pytest.approx(310)


def test_a_cable_that_was_not_measured_is_said() -> None:
    """Three metres stand for it, and an assumption says so; no wait is shorter than 5 µs."""
    unread = common_settle(BOARD, PART, CABLE, cable_m=None, pull_up_ohms=10_500)
    assert unread.capacitance_pf == common_settle(BOARD, PART, CABLE, cable_m=3.0, pull_up_ohms=10_500).capacitance_pf
    assert "3 m" in unread.assumptions[0]
    assert common_settle(BOARD, PART, CABLE, cable_m=0.1, pull_up_ohms=1_000).wait_us == 5.0


@pytest.mark.parametrize(
    ("devices", "lengths", "hz"),
    [(2, (1.0,), 400_000), (8, (3.0,), 100_000), (2, (2.0, 1.5), 100_000), (8, (4.0,), None)],
)
def test_the_bus_is_as_fast_as_a_pull_up_allows(devices: int, lengths: tuple[float, ...], hz: int | None) -> None:
    """UM10204: least (VDD - 0.4 V)/3 mA, greatest tr/(0.8473 Cb) with 300 ns or 1000 ns, and 400 pF at most."""
    clock = highest_bus_hz(BOARD, EXPANDER, CABLE, devices, lengths)
    assert clock.hz == hz
    assert clock.farads == pytest.approx((100 * sum(lengths) + 10 + 10 * devices) * 1e-12)
    if clock.hz is None:
        assert clock.pull_up_ohms is None
        return
    rise_s = 300e-9 if hz == 400_000 else 1000e-9
    assert clock.pull_up_ohms == pytest.approx((5.1 / 3e-3, rise_s / (0.8473 * clock.farads)), rel=1e-4)


def test_a_bus_cable_that_was_not_measured_is_said() -> None:
    """Three metres stand for each, marked."""
    clock = highest_bus_hz(BOARD, EXPANDER, CABLE, 1, (None,))
    assert clock.farads == pytest.approx(320e-12)
    assert "3 m" in clock.assumptions[0]


def test_the_switch_adds_to_a_closed_contact() -> None:
    """Behind 270 Ω and a contact of 1 kΩ a pull-up of 9.5 kΩ leaves 11.8 % of the supply; low is up to 30 %."""
    found = judge_pull_up(sense_through_multiplexer(BOARD, PART), contact_ohms=None)
    assert found.low_level.value == pytest.approx(30 - 100 * 1270 / (9500 + 1270), rel=1e-6)
    assert found.low_level.margin > 0
    assert found.high_level.margin > 0


def test_an_expander_reads_between_a_fifth_and_four_fifths() -> None:
    """Microchip DS20001952C, table 1-1: 0.2 and 0.8 of the supply."""
    found = judge_pull_up(sense_on_expander(BOARD, EXPANDER), contact_ohms=None)
    assert found.low_level.value == pytest.approx(20 - 100 * 1000 / 10_500, rel=1e-6)
    assert found.high_level.value == pytest.approx(20 - 100 * 1e-6 * 10_500 / 4.5, rel=1e-6)
