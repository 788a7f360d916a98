"""Slack, hold and pull-up windows of the wires against published and worked figures."""

from __future__ import annotations

import pytest

from retrofit.circuits.bus_clock import highest_bus_hz
from retrofit.circuits.common_settle import common_settle
from retrofit.circuits.settle import rise_time_s
from retrofit.plan.topologies.kinds import Kind
from retrofit.plan.topologies.wires import (
    BOUNDARY_HOLD,
    BUFFER_SKEW_NS,
    BUS_WINDOW,
    CLOCK_SLACK,
    DELAY_FARADS,
    DELAY_OHMS,
    SETTLED_SHARE,
    cable_words,
    chain_wire,
    serial_wire,
    two_wire,
)
from tests.plan.topologies.consoles import BOARD, CATALOGUE, demand_of, rail

_, BENCH = demand_of(rail(8))


def test_the_delay_of_the_worked_boundary() -> None:
    """Ex 9: 100 Ω and 47 pF reach 63 % after 4.7 ns; buffers on two boards are 8 ns apart."""
    assert round(1e9 * rise_time_s(DELAY_OHMS, DELAY_FARADS, SETTLED_SHARE), 1) == 4.7
    assert BUFFER_SKEW_NS == 8.0


def test_one_place_has_no_boundary() -> None:
    """Hold is judged where the chain goes on to another place, and said with what a buffered clock would do."""
    alone = chain_wire((1.0,), 1, BENCH, ())
    assert [judged.criterion for judged in alone.judged] == [CLOCK_SLACK]
    assert alone.remarks == ()
    apart = chain_wire((1.0, 2.0), 3, BENCH, ())
    assert [judged.criterion for judged in apart.judged] == [CLOCK_SLACK, BOUNDARY_HOLD]
    assert "2 times" in apart.remarks[0]
    assert "8 ns of hold are missing" in apart.remarks[0]
    assert "2 in a row" in apart.remarks[0]


def test_a_chain_is_clocked_for_its_longest_cable() -> None:
    """Slack counts from the farthest group (NXP 74HC165 rev. 3: 41 ns at 4.5 V, 85 °C; 10 ns of the controller)."""
    wire = chain_wire((1.0, 2.0), 1, BENCH, ())
    result = wire.judged[0].result
    assert wire.hz == 4_000_000
    assert result is not None
    assert result.value == pytest.approx(125 - 41 - 10 - 2 * 2 * 5.68)


def test_slack_of_serial_expanders() -> None:
    """Half a period of 4 MHz less 45 ns to valid data (DS20001952C, from memory), 10 ns set-up and the cable."""
    wire = serial_wire(1.0, BENCH, ())
    result = wire.judged[0].result
    assert result is not None
    assert wire.hz == 4_000_000
    assert result.value == pytest.approx(125 - 45 - 10 - 2 * 5.68)


def test_the_bus_of_a_short_cable() -> None:
    """UM10204, 1 m of 100 pF/m and three pins of 10 pF: (5.5 − 0.4) V/3 mA to 300 ns/(0.8473 · 130 pF)."""
    wire = two_wire((1.0,), 2, BENCH)
    result = wire.judged[0].result
    assert wire.hz == 400_000
    assert result is not None
    assert result.limit == pytest.approx(1700)
    assert result.value == pytest.approx(300e-9 / (0.8472978 * 130e-12), rel=1e-6)


@pytest.mark.parametrize(("metres", "hertz"), [(1.0, 400_000), (1.9, 100_000), (3.6, 100_000), (3.8, None)])
def test_a_longer_bus_is_slower_and_then_impossible(metres: float, hertz: int | None) -> None:
    """UM10204: 300 ns allow 208 pF at 1700 Ω, 1000 ns more, and nothing goes beyond 400 pF."""
    clock = highest_bus_hz(BOARD, CATALOGUE.expanders["mcp23017"], CATALOGUE.cables["unknown"], 2, (metres,))
    assert clock.hz == hertz
    assert (two_wire((metres,), 2, BENCH).hz, clock.pull_up_ohms is None) == (hertz, hertz is None)
    assert two_wire((metres,), 2, BENCH).judged[0].criterion == BUS_WINDOW


def test_cables_of_a_bus_add_up() -> None:
    """Two groups on one bus load it with both of their cables; an unmeasured one is marked."""
    expander, cable = CATALOGUE.expanders["mcp23017"], CATALOGUE.cables["unknown"]
    both = highest_bus_hz(BOARD, expander, cable, 2, (1.0, 0.5))
    assert both.farads == pytest.approx(highest_bus_hz(BOARD, expander, cable, 2, (1.5,)).farads)
    assert both.assumptions == ()
    assert highest_bus_hz(BOARD, expander, cable, 2, (None,)).assumptions != ()


def test_the_common_of_a_multiplexer_settles() -> None:
    """Three times (10.5 kΩ + 270 Ω) · (cable + twice the typical 25 and 5 pF + 10 pF) · −ln 0.4, at least 5 µs."""
    part, cable = CATALOGUE.multiplexers["74hc4051"], CATALOGUE.cables["unknown"]
    settling = common_settle(BOARD, part, cable, cable_m=3.0, pull_up_ohms=10.5e3)
    assert settling.capacitance_pf == pytest.approx(300 + 60 + 10)
    assert settling.wait_us == pytest.approx(3 * 0.9162907 * 10.77e3 * 370e-6, rel=1e-6)
    assert common_settle(BOARD, part, cable, cable_m=0.1, pull_up_ohms=10.5e3).wait_us == 5.0
    assert common_settle(BOARD, part, cable, cable_m=None, pull_up_ohms=10.5e3).assumptions != ()


def test_what_the_cable_does_is_said() -> None:
    """3 m of 100 pF/m and 5.68 ns/m: 300 pF to a line or a bus, 34 ns out and back to a clock."""
    demand, bench = demand_of(rail(8, metres="3"))
    assert "300 pF to the bus" in cable_words(Kind.TWO_WIRE, demand, bench)
    assert "34 ns" in cable_words(Kind.CHAIN, demand, bench)
    assert "300 pF to a line" in cable_words(Kind.PINS, demand, bench)
