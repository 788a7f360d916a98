"""The round of the two-wire bus, worked out by hand, and the period that it asks for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.two_wire_bus import read_s
from retrofit.scan.allocate import lay_out
from retrofit.scan.bus_round import BusRound, bus_round, with_bus
from retrofit.scan.busy import scan_cycles
from retrofit.scan.layout import ScanLayout
from retrofit.scan.period import choose_periods
from retrofit.scan.requests import GroupRequest
from tests.scan.requests import BOARD, group

COSTS = load_catalogue().firmware_costs["atmega2560"]
NO_STEPS = replace(COSTS, bus_step=0)


def layout_of(*requests: GroupRequest, hz: int = 400_000) -> ScanLayout:
    """Return the layout of the requests with a bus of this clock."""
    return replace(lay_out(requests, BOARD, fixed={}).layout, bus_hz=hz)


@pytest.mark.parametrize(("hz", "round_us"), [(400_000, 120), (100_000, 480)])
def test_the_bits_of_a_read_are_those_of_the_bus(hz: int, round_us: float) -> None:
    """One expander takes five bytes of nine bits with start, repeated start and stop: 48 bits (NXP UM10204)."""
    found = bus_round(layout_of(group("keys", 14, "expander"), hz=hz), NO_STEPS, BOARD.clock_hz)
    assert found is not None
    assert found.round_us == pytest.approx(round_us) == pytest.approx(1e6 * read_s(2, hz))


def test_the_controller_takes_seven_steps_for_each_expander() -> None:
    """Three expanders: 3 x 47 bits and a stop at 2.5 µs, and 21 steps of 16 cycles."""
    layout = layout_of(group("keys", 40, "expander"))
    found = bus_round(layout, replace(COSTS, bus_step=16), BOARD.clock_hz)
    assert found is not None
    assert found.round_us == pytest.approx((3 * 47 + 1) * 2.5 + 3 * 7)
    assert found.sample_us["1", 0] == pytest.approx(29 * 2.5 + 5)
    assert found.sample_us["3", 1] == pytest.approx(2 * (47 * 2.5 + 7) + 38 * 2.5 + 6)


def test_without_expanders_there_is_no_round() -> None:
    """A console without expanders has no bus."""
    assert bus_round(layout_of(group("keys", 8)), COSTS, BOARD.clock_hz) is None


@pytest.mark.parametrize(
    ("round_us", "tick_us", "scan_us", "log2"),
    [(75, 125, 25, 0), (76, 125, 25, 1), (600, 250, 50, 2), (601, 250, 50, 3), (600, 250, 240, 3), (1e6, 125, 0, 6)],
)
def test_the_period_holds_a_round(round_us: float, tick_us: float, scan_us: float, log2: int) -> None:
    """Three quarters of what the scans leave, in a power of two of ticks; half of a tick is always left."""
    assert BusRound(round_us, {}).period_log2(tick_us, scan_us) == log2


def test_all_groups_on_the_bus_are_sampled_together() -> None:
    """Keys and stops on expanders have one period and the phase of the round; keys on the chain keep every tick."""
    requests = (group("keys", 40, "expander"), group("stops", 14, "expander", speed=2), group("chain", 8))
    speed = {request.group: request.speed for request in requests}
    layout = replace(layout_of(*requests), spi_hz=1_000_000)
    pacing = choose_periods(layout, COSTS, BOARD.clock_hz, speed)
    assert pacing.bus_log2 == pacing.divider_log2["keys"] == pacing.divider_log2["stops"] > 0
    assert pacing.phase["keys"] == pacing.phase["stops"] == pacing.divider_log2["chain"] == 0


def test_a_lane_waits_for_the_beginning_of_the_next_round() -> None:
    """From its latest sampling to the look a lane waits what the period leaves; scans before it make it so late."""
    layout = layout_of(group("keys", 14, "expander"))
    busy = scan_cycles(layout, COSTS, None, BOARD.clock_hz, {}, {})
    samples = {("1", 0): 80.0, ("1", 1): 300.0}
    tick_us, period_us = 250, 1000
    found = with_bus(busy, layout, BusRound(320, samples), tick_us, period_us)
    assert found.until_lane_us == pytest.approx(
        [busy.until_lane_us[0] + 920, busy.until_lane_us[1] + 700 - busy.total_us]
    )
    assert found.sample_jitter_us == pytest.approx((0, busy.total_us))
