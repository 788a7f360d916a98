"""Busy time of a scan, worked out by hand with round costs."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.catalogue.parts import FirmwareCosts
from retrofit.scan.allocate import lay_out
from retrofit.scan.busy import ScanWork, scan_cycles
from retrofit.scan.layout import ScanLayout
from retrofit.scan.requests import GroupRequest
from tests.scan.requests import BOARD, consoles, group

CLOCK_HZ = 1_000_000
"""At one megahertz a cycle is a microsecond, so that the sums below read in both."""
SPI_HZ = 500_000
"""A byte takes 16 cycles on the wire."""
COSTS = FirmwareCosts(
    board="test",
    tick_base=1000,
    group=1,
    group_due=10,
    beyond_chain=5,
    run=20,
    run_passed=3,
    chain_latch=100,
    chain_run=20,
    chain_lane_loop=15,
    chain_gap=4,
    chain_skip=7,
    matrix_row=30,
    port_lane=50,
    bank_lane=60,
    select_line=8,
    expander_lane=25,
    bus_step=40,
    event_handling=0,
    main_loop_jitter=0,
    figures={},
)


def layout_of(*requests: GroupRequest) -> ScanLayout:
    """Return the layout of the requests."""
    return lay_out(requests, BOARD, fixed={}, spi_hz=SPI_HZ).layout


def test_a_chain_alone() -> None:
    """Two registers: load, a first byte behind the run's opening (15 + 20), a second of 16 + 4, the last look."""
    busy = scan_cycles(layout_of(group("keys", 16)), COSTS, SPI_HZ, CLOCK_HZ, {"keys": 0}, {"keys": 0})
    assert busy.total_us == 1000 + 1 + 10 + (100 + 35 + 20 + 15)
    assert busy.per_group_us == {"keys": 35 + 20}
    assert busy.until_lane_us == (100 + 35 + 15, 100 + 35 + 20 + 15)
    assert busy.sample_jitter_us == (0, 0)


def test_a_slow_wire_sets_the_pace() -> None:
    """With a byte of 160 cycles the opening of a run hides behind its first byte."""
    busy = scan_cycles(layout_of(group("keys", 16)), COSTS, 50_000, CLOCK_HZ, {}, {})
    assert busy.until_lane_us == (100 + 164 + 15, 100 + 2 * 164 + 15)


def test_a_slow_loop_sets_the_pace() -> None:
    """With a wire faster than the look at a byte, the look sets the pace."""
    busy = scan_cycles(layout_of(group("keys", 24)), replace(COSTS, chain_lane_loop=90), SPI_HZ, CLOCK_HZ, {}, {})
    assert busy.until_lane_us == (100 + 110 + 90, 100 + 110 + 90 + 90, 100 + 110 + 2 * 90 + 90)


def test_shifting_ends_after_the_last_register_that_is_due() -> None:
    """With tabs in every second tick, the odd tick does not shift their register."""
    layout = layout_of(group("keys", 8), group("tabs", 8, speed=2))
    both = scan_cycles(layout, COSTS, SPI_HZ, CLOCK_HZ, {"keys": 0, "tabs": 0}, {"keys": 0, "tabs": 0})
    alone = scan_cycles(layout_of(group("keys", 8)), COSTS, SPI_HZ, CLOCK_HZ, {}, {})
    half = scan_cycles(layout, COSTS, SPI_HZ, CLOCK_HZ, {"keys": 0, "tabs": 1}, {"keys": 0, "tabs": 1})
    assert both.total_us == 1000 + 1 + 10 + (100 + 35 + 20 + 15)
    assert half.total_us == 1000 + 2 + 20 + (100 + 35 + 35 + 15)
    assert alone.total_us == 1000 + 1 + 10 + (100 + 35 + 15)


def test_groups_of_one_pace_are_read_as_one() -> None:
    """Three groups in neighbouring registers are opened once; the one between at another pace parts the others."""
    layout = layout_of(group("a", 8), group("b", 8), group("c", 8))
    together = scan_cycles(layout, COSTS, SPI_HZ, CLOCK_HZ, {}, {})
    parted = scan_cycles(layout, COSTS, SPI_HZ, CLOCK_HZ, {"b": 1}, {"b": 1})
    assert together.total_us == 1000 + 1 + 10 + (100 + 35 + 20 + 20 + 15)
    assert together.until_lane_us == (100 + 35 + 15, 100 + 35 + 20 + 15, 100 + 35 + 2 * 20 + 15)
    assert parted.total_us == 1000 + 2 + 20 + (100 + 3 * 35 + 15)


def test_a_register_in_between_parts_a_stretch() -> None:
    """Runs with a register between them that belongs to nobody are opened each for itself."""
    layout = layout_of(group("a", 8), group("b", 8))
    apart = replace(layout, lanes=(layout.lanes[0], replace(layout.lanes[1], place=2)))
    busy = scan_cycles(apart, COSTS, SPI_HZ, CLOCK_HZ, {}, {})
    assert busy.total_us == 1000 + 1 + 10 + (100 + 35 + 35 + 15)


def test_a_chain_of_which_nothing_is_due_is_left_alone() -> None:
    """In a tick without a due register the chain costs nothing."""
    layout = layout_of(group("k", 8))
    assert ScanWork(layout, COSTS, SPI_HZ, CLOCK_HZ).tick_us(set()) == 1000 + 1


def test_registers_before_a_due_one_are_shifted_through() -> None:
    """A register that is not due costs its byte, or the steps to skip it, whichever is longer."""
    layout = layout_of(group("first", 16, speed=1), group("second", 8, speed=2))
    busy = scan_cycles(layout, COSTS, SPI_HZ, CLOCK_HZ, {"first": 1, "second": 1}, {"first": 0, "second": 1})
    first_due = 1000 + 2 + 10 + (100 + 35 + 20 + 15)
    second_due = 1000 + 2 + 10 + (100 + 20 + 20 + 35 + 15)
    assert busy.total_us == max(first_due, second_due)


def test_runs_passed_by_one_after_the_other_wait_behind_one_byte() -> None:
    """Finding out that two stretches are not due (7 + 2 × 30) delays the first of their three bytes, not each one's."""
    layout = layout_of(group("a", 16, speed=1), group("b", 8, speed=1), group("c", 8, speed=2))
    slow_to_pass = replace(COSTS, run_passed=30)
    phases = {"a": 1, "b": 2, "c": 0}
    busy = scan_cycles(layout, slow_to_pass, SPI_HZ, CLOCK_HZ, {"a": 2, "b": 2, "c": 2}, phases)
    third_due = 1000 + 3 + 10 + (100 + 67 + 2 * 20 + 35 + 15)
    assert busy.total_us == third_due


def test_matrix_and_port_after_the_chain() -> None:
    """A matrix row costs its steps and its wait, a port its own; each is handled right after its own reading."""
    layout = layout_of(group("m", 16, "matrix", settle_us=7), group("p", 8, "pins"))
    busy = scan_cycles(layout, COSTS, None, CLOCK_HZ, {}, {})
    assert busy.per_group_us == {"m": 20 + 2 * (30 + 7), "p": 20 + 50}
    assert busy.total_us == 1000 + 1 + 10 + 5 + (20 + 2 * 37) + (20 + 50)
    assert busy.until_lane_us == (37, 37, 50)


def test_multiplexers_and_expanders_come_last() -> None:
    """An input of a bank costs its steps, those of its select lines and its wait; a port of an expander its look."""
    layout = layout_of(
        group("e", 10, "expander"), group("k", 20, "multiplexer", settle_us=9, inputs=8), group("p", 8, "pins")
    )
    busy = scan_cycles(layout, COSTS, None, CLOCK_HZ, {}, {})
    assert busy.per_group_us == {"p": 20 + 50, "k": 20 + 3 * (60 + 3 * 8 + 9), "e": 20 + 2 * 25}
    assert busy.until_lane_us == (50, 93, 93, 93, 25, 25)


def test_a_bank_of_sixteen_inputs_has_a_select_line_more() -> None:
    """The wait and the steps are those of eight inputs, with one more line to set."""
    layout = layout_of(group("k", 8, "multiplexer", settle_us=9, inputs=16))
    assert scan_cycles(layout, COSTS, None, CLOCK_HZ, {}, {}).per_group_us == {"k": 20 + 60 + 4 * 8 + 9}


def test_the_settle_wait_is_in_microseconds() -> None:
    """At 16 MHz a wait of 7 µs is 112 cycles, not 7."""
    layout = layout_of(group("m", 8, "matrix", settle_us=7))
    busy = scan_cycles(layout, COSTS, None, 16_000_000, {}, {})
    assert busy.until_lane_us[0] == pytest.approx(30 / 16 + 7)


def test_what_comes_before_moves_the_sampling_instant() -> None:
    """A port behind a slow matrix is read earlier in the ticks in which the matrix is only passed by."""
    layout = layout_of(group("m", 8, "matrix", speed=2, settle_us=7), group("p", 8, "pins"))
    busy = scan_cycles(layout, COSTS, None, CLOCK_HZ, {"m": 1, "p": 0}, {"m": 0, "p": 0})
    matrix_due, matrix_passed = 10 + 20 + 37, 3
    assert busy.sample_jitter_us == (0, matrix_due - matrix_passed)


@settings(max_examples=40, deadline=None)
@given(consoles(), st.data())
def test_no_tick_is_busier_than_one_in_which_everything_is_due(
    requests: list[GroupRequest], data: st.DataObject
) -> None:
    """Dividing groups down never makes the worst tick longer than that of as many groups, each at a pace of its own."""
    layout = layout_of(*requests)
    groups = {run.group for run in layout.runs}
    dividers = {name: data.draw(st.integers(0, 3)) for name in sorted(groups)}
    phases = {name: data.draw(st.integers(0, (1 << n) - 1)) for name, n in dividers.items()}
    everything_us = ScanWork(layout, COSTS, SPI_HZ, CLOCK_HZ).tick_us(groups)
    divided = scan_cycles(layout, COSTS, SPI_HZ, CLOCK_HZ, dividers, phases)
    assert divided.total_us <= everything_us
    assert len(divided.until_lane_us) == len(divided.sample_jitter_us) == len(layout.lanes)
