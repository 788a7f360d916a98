"""Slack and clock of the shift-in chain."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.chain_timing import (
    boundary_hold,
    chain_slack,
    half_period_slack_ns,
    highest_spi_hz,
    hold_slack_ns,
    longest_cable_m,
)

CATALOGUE = load_catalogue()
BOARD = CATALOGUE.boards["atmega2560"]
REGISTER = CATALOGUE.registers["74hc165"]
CABLE = CATALOGUE.cables["unknown"]


def test_slack_of_a_worked_chain() -> None:
    """Ex 9: 1 MHz, 60 ns register, 3 m of 5 ns/m out and back, 30 ns buffer, 20 ns set-up: 360 ns, 72 % of the half."""
    slack = half_period_slack_ns(500, 60, 2 * 3 * 5, 20, 30)
    assert slack == 360
    assert slack / 500 == 0.72


def test_hold_of_a_worked_board_boundary() -> None:
    """Ex 9: 5 ns at least through the register, no hold time, 8 ns of clock skew: 3 ns short."""
    assert hold_slack_ns(5, 0, 0, 8) == -3


def test_eight_megahertz_on_no_cable() -> None:
    """At 8 MHz and 4.5 V: 62.5 − (41 of NXP rev. 3, 85 °C + 10 of the controller) = 11.5 ns, 18 %, below the fifth."""
    result = chain_slack(BOARD, REGISTER, CABLE, 0.0, 8_000_000)
    assert result.value == pytest.approx(62.5 - 41 - 10)
    assert round(100 * result.value / 62.5) == 18
    assert not result.passes
    assert result.corner == "supply 4.5 V, 85 °C"


def test_eight_megahertz_on_a_metre() -> None:
    """At 8 MHz a metre of cable leaves next to nothing."""
    assert 0 <= chain_slack(BOARD, REGISTER, CABLE, 1.0, 8_000_000).value < 2


@pytest.mark.parametrize(("metres", "hz"), [(0, 4_000_000), (2, 4_000_000), (10, 2_000_000), (20, 1_000_000)])
def test_clock_falls_with_the_length_of_the_cable(metres: float, hz: int) -> None:
    """The clock is the fastest below 4 MHz that keeps a fifth of its half period."""
    clock = highest_spi_hz(BOARD, REGISTER, CABLE, metres)
    assert clock.hz == hz
    assert clock.slack is not None
    assert clock.slack.passes
    assert clock.assumptions == ()


def test_an_unmeasured_cable_is_clocked_slowly_and_marked() -> None:
    """Without a length the chain runs at 1 MHz, no slack is claimed, and the assumption is in words."""
    clock = highest_spi_hz(BOARD, REGISTER, CABLE, None)
    assert (clock.hz, clock.slack) == (1_000_000, None)
    taken = f"the chain's cable is taken to be at most {clock.holds_to_m:.1f} m long, which nobody has measured"
    assert clock.assumptions == (taken,)


def test_a_cable_that_no_clock_can_serve_is_said() -> None:
    """On 2 km of cable the slowest clock is returned with the margin that it misses."""
    clock = highest_spi_hz(BOARD, REGISTER, CABLE, 2000)
    assert clock.hz == BOARD.clock_hz // 64
    assert clock.slack is not None
    assert not clock.slack.passes
    assert clock.holds_to_m < 2000


def test_a_slow_register_lowers_the_clock() -> None:
    """A register that follows 1.5 MHz only is clocked at 1 MHz however short its cable."""
    limit = replace(REGISTER.clock_max_mhz, columns={85: (1.0, 1.5, 2.0)})
    assert highest_spi_hz(BOARD, replace(REGISTER, clock_max_mhz=limit), CABLE, 0.0).hz == 1_000_000


@given(st.floats(0, 300))
def test_no_faster_clock_would_do(metres: float) -> None:
    """The chosen clock keeps its margin, and the board's next faster one breaks a limit."""
    clock = highest_spi_hz(BOARD, REGISTER, CABLE, metres)
    assert clock.slack is not None
    if clock.slack.passes and clock.hz < 4_000_000:
        assert not chain_slack(BOARD, REGISTER, CABLE, metres, 2 * clock.hz).passes


@given(st.sampled_from([4_000_000, 2_000_000, 1_000_000, 500_000, 250_000]))
def test_the_longest_cable_just_keeps_the_margin(hz: int) -> None:
    """A little less than the longest cable passes, a little more does not."""
    longest = longest_cable_m(BOARD, REGISTER, CABLE, hz)
    assert chain_slack(BOARD, REGISTER, CABLE, longest - 0.01, hz).passes
    assert not chain_slack(BOARD, REGISTER, CABLE, longest + 0.01, hz).passes


def test_hold_between_boards_of_the_real_register() -> None:
    """Separate buffers with 8 ns of skew break the hold; 10 ns of data wire heal it; the assumption is marked."""
    bare = boundary_hold(REGISTER, skew_ns=8)
    assert not bare.passes
    assert boundary_hold(REGISTER, skew_ns=8, data_wire_ns=10).passes
    assert "common practice, no source" in bare.assumptions[0]
