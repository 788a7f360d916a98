"""Multiplexers, two-wire expanders and resistor ladders against their worked examples."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.ladder import judge_ladder, ladder_volts, worst_gap
from retrofit.circuits.multiplexer import addresses, devices, round_us
from retrofit.circuits.pullup import low_volts
from retrofit.circuits.sense.design import Verdict
from retrofit.circuits.settle import rise_time_s, wait_us
from retrofit.circuits.two_wire_bus import (
    FAST_MODE,
    STANDARD_MODE,
    buses,
    expanders,
    pull_up_least,
    pull_up_most,
    pull_up_window,
    read_bits,
    read_s,
)


def test_the_worked_multiplexers() -> None:
    """Ex 10: 17 devices, 272 addresses, 7.95 µs of settling, 160 µs a round; 0.174 V through 530 Ω, margin 0.816 V."""
    assert (devices(263, 16), addresses(263, 16)) == (17, 272)
    threshold_us = 1e6 * rise_time_s(10e3, 220e-12, 0.7)
    assert round(wait_us(threshold_us), 2) == 7.95
    assert round_us(16, threshold_us, 10 - wait_us(threshold_us)) == pytest.approx(160)
    low = low_volts(3.3, 9500, 530, 0)
    assert round(low, 3) == 0.174
    assert round(0.99 - low, 3) == 0.816


def test_the_worked_expanders() -> None:
    """Ex 11: 17 devices on 3 buses, 48 bits in 120 or 480 µs; 8 of them 0.96 or 3.84 ms, 17 in a row 2.04 ms."""
    assert (expanders(263), buses(263), read_bits(2)) == (17, 3, 48)
    assert (round(1e6 * read_s(2, 400e3)), round(1e6 * read_s(2, 100e3))) == (120, 480)
    assert [round(1e3 * n * read_s(2, hz), 2) for n, hz in ((8, 400e3), (8, 100e3), (17, 400e3))] == [0.96, 3.84, 2.04]


def test_the_worked_pull_ups_of_the_bus() -> None:
    """Ex 11: 967 to 1770 Ω at 200 pF; none at 390 pF and 400 kHz (908 Ω at most); 967 to 3026 Ω at 100 kHz."""
    assert pull_up_window(3.3, 200e-12, FAST_MODE) == pytest.approx((966.667, 1770.33), rel=1e-5)
    assert pull_up_window(3.3, 390e-12, FAST_MODE) is None
    assert round(pull_up_most(300e-9, 390e-12)) == 908
    window = pull_up_window(3.3, 390e-12, STANDARD_MODE)
    assert window is not None
    assert tuple(map(round, window)) == (967, 3026)


def test_the_published_pull_ups_of_the_bus() -> None:
    """TI SLVA689, section 4: fast mode, 200 pF, 3.3 V gives 966.667 Ω to 1.77 kΩ."""
    assert round(pull_up_least(3.3), 3) == 966.667
    assert round(pull_up_most(300e-9, 200e-12) / 1e3, 2) == 1.77


def test_a_bus_with_too_much_capacitance_is_refused() -> None:
    """NXP UM10204: 400 pF is the most, even where a pull-up would still be quick enough."""
    assert pull_up_window(3.3, 400e-12, STANDARD_MODE) is not None
    assert pull_up_window(3.3, 401e-12, STANDARD_MODE) is None


def test_the_worked_ladder() -> None:
    """Ex 15: thirteen levels of twelve 1 kΩ steps below 4.7 kΩ at 3.3 V, the least 59.2 mV apart."""
    volts = ladder_volts(3.3, 4.7e3, 1e3, 12)
    printed = (2.371, 2.312, 2.245, 2.168, 2.079, 1.974, 1.850, 1.701, 1.517, 1.286, 0.985, 0.579, 0)
    assert tuple(round(level, 3) for level in volts) == printed
    assert round(1e3 * min(above - below for above, below in pairwise(volts)), 1) == 59.2


def test_the_worked_ladder_at_its_tolerance() -> None:
    """Ex 15: 1 % leaves 32.0 mV at the first contact, 5 % overlaps by 76.9 mV."""
    gap, contact = worst_gap(3.3, 4.7e3, 1e3, 12, 0.01)
    assert (round(1e3 * gap, 1), contact) == (32.0, 1)
    assert round(1e3 * worst_gap(3.3, 4.7e3, 1e3, 12, 0.05)[0], 1) == -76.9
    assert judge_ladder(3.3, 4.7e3, 1e3, 12, 0.01, 10).verdict is Verdict.GOOD
    assert judge_ladder(3.3, 4.7e3, 1e3, 12, 0.05, 10).verdict is Verdict.FAILS


@given(st.floats(0, 0.1), st.floats(0, 0.1), st.integers(2, 20))
def test_more_tolerance_never_widens_a_gap(first: float, second: float, steps: int) -> None:
    """The worst gap only shrinks as resistors get worse."""
    tight, loose = sorted((first, second))
    assert worst_gap(5, 4.7e3, 1e3, steps, loose)[0] <= worst_gap(5, 4.7e3, 1e3, steps, tight)[0] + 1e-12


@given(st.floats(0.1, 100))
def test_a_ladder_knows_only_ratios(factor: float) -> None:
    """Scaling every resistor leaves every level where it was."""
    assert ladder_volts(5, 4.7e3 * factor, 1e3 * factor, 12) == pytest.approx(ladder_volts(5, 4.7e3, 1e3, 12))
