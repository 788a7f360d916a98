"""Loading of an organ's line: worked examples, a published divider, a numerical solver, and what stays unknown."""

from __future__ import annotations

from dataclasses import replace
from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Verdict
from retrofit.circuits.sense.line import Decay
from retrofit.circuits.sense.loading import (
    decay_change,
    input_ohms_for,
    judge_current,
    judge_decay,
    judge_shift,
    judge_supply_change,
    late_note_off_s,
    parallel_ohms,
    release_after_decay_s,
    shift_share,
)
from retrofit.circuits.sense.tap_network import node_volts
from tests.circuits.sense.taps import REGISTER_INPUT, SCHMITT_3V3, STIFF, line, network, swing


@pytest.mark.parametrize(
    ("input_ohms", "tau_ms", "percent"),
    [(650e3, 407.3, -13.3), (1e6, 427.3, -9.1), (2.2e6, 449.6, -4.35), (4.7e6, 460.2, -2.08), (10e6, 465.3, -0.99)],
)
def test_worked_decay(input_ohms: float, tau_ms: float, percent: float) -> None:
    """Ex 5: 4.7 µF and 100 kΩ (470 ms) under five input resistances."""
    assert 1e3 * 4.7e-6 * parallel_ohms(100e3, input_ohms) == pytest.approx(tau_ms, abs=0.06)
    assert 100 * decay_change(100e3, input_ohms) == pytest.approx(percent, abs=0.06)
    figure = judge_decay(Decay(Span.exact(100e3), Span.exact(4.7e-6)), input_ohms)
    assert figure.result is not None
    assert figure.result.passes == (percent > -5)


def test_worked_input_resistance_and_late_release() -> None:
    """Ex 5: 1.9 MΩ for 5 %, 4.9 MΩ for 2 %; tapped there the note-off is 325.8 ms late at 6 V, 651.6 ms at 3 V."""
    assert input_ohms_for(100e3, 0.05) == pytest.approx(1.9e6)
    assert input_ohms_for(100e3, 0.02) == pytest.approx(4.9e6)
    assert round(1e3 * late_note_off_s(0.470, 12, 6), 1) == 325.8
    assert round(1e3 * late_note_off_s(0.470, 12, 3), 1) == 651.6


def test_a_loaded_divider() -> None:
    """15 V over 22 kΩ and 10 kΩ beside 50 kΩ: 4.120879 V, unloaded 4.6875 V (ngspice 39, scipy and lcapy agree)."""
    assert node_volts(15, 0, 22e3, 10e3) == 4.6875
    assert node_volts(15, 0, 22e3, parallel_ohms(10e3, 50e3)) == pytest.approx(4.120879, abs=5e-7)
    source = parallel_ohms(22e3, 10e3)
    assert 4.6875 * (1 - shift_share(source, 50e3)) == pytest.approx(4.120879, abs=5e-7)


@given(st.floats(10e3, 1e6), st.floats(1e-7, 1e-5), st.floats(1e5, 1e7), st.floats(1.0, 11.0))
def test_release_agrees_with_a_numerical_solver(ohms: float, farads: float, load: float, threshold: float) -> None:
    """scipy: a capacitor discharging from 12 V through both resistors crosses the threshold when the formula says."""
    found = release_after_decay_s(
        Decay(Span.exact(ohms), Span.exact(farads)), Span.exact(load), Span.exact(12.0), STIFF, threshold
    )
    assert found is not None

    def slope(_: float, volts: list[float]) -> list[float]:
        return [-volts[0] / ohms / farads - volts[0] / load / farads]

    def crossing(_: float, volts: list[float]) -> float:
        return volts[0] - threshold

    solved = solve_ivp(slope, (0, 3 * ohms * farads), [12.0], events=crossing, rtol=1e-9, atol=1e-9)
    assert found[0] == pytest.approx(solved.t_events[0][0], rel=1e-5)


def test_release_takes_the_slowest_corner() -> None:
    """The greatest capacitor, discharge, load and start decide; a rising line is the mirror image of a falling one."""
    decay, load = Decay(Span(90e3, 110e3), Span(4e-6, 6e-6)), Span(0.9e6, 1.1e6)
    falling = release_after_decay_s(decay, load, Span(10, 13), Span(0, 1), 3.0)
    rising = release_after_decay_s(decay, load, Span(-13, -10), Span(-1, 0), -3.0)
    assert rising is not None
    assert falling is not None
    assert falling[0] == pytest.approx(parallel_ohms(110e3, 1.1e6) * 6e-6 * log(12 / 2))
    assert rising[0] == pytest.approx(falling[0])


def test_release_that_never_comes_or_has_come() -> None:
    """A threshold beyond the end of the decay is never reached; one above the start is passed at once."""
    decay, load = Decay(Span.exact(100e3), Span.exact(1e-6)), Span.exact(1e6)
    assert release_after_decay_s(decay, load, Span(10, 13), Span(0, 3), 2.5) is None
    passed = release_after_decay_s(decay, load, Span(10, 13), Span(0, 1), 14.0)
    assert passed is not None
    assert passed[0] == 0.0


@given(st.floats(1e3, 1e6), st.floats(1e-6, 30e-6))
def test_share_of_current(load_ohms: float, amps: float) -> None:
    """The share is that of Ohm's law, and it passes up to 5 %."""
    keyed = 12 / load_ohms
    figure = judge_current(replace(line(), keyed_amps=keyed), amps, "")
    assert figure is not None
    assert figure.result is not None
    assert figure.result.value == pytest.approx(100 * amps / keyed)
    assert figure.result.passes == (figure.result.value <= 5)


def test_current_of_lines_of_ours_or_without_load() -> None:
    """Lines of ours are not judged; a line whose load draws nothing is judged by its volts; unknown stays unknown."""
    assert judge_current(replace(line(), ours=True), 1e-5, "") is None
    assert judge_current(replace(line(), keyed_amps=0.0), 1e-5, "") is None
    unknown = judge_current(replace(line(), keyed_amps=None), 1e-5, "")
    assert unknown is not None
    assert unknown.verdict is Verdict.UNKNOWN


def test_shift_is_the_share_of_the_source() -> None:
    """Without clamp and leakage the shift of a driven state is Rs/(Rs + Rin) at the greatest source, least input."""
    of = line(Span(-3.0, -2.0), Span(1.0, 2.0), idle_ohms=Span(10e3, 50e3))
    tap = network(470e3, 180e3, reference=STIFF)
    figure = judge_shift(replace(tap, behind=replace(SCHMITT_3V3, supply=Span.exact(30.0))), swing(of).keyed, 3.0)
    assert figure is not None
    assert figure.result is not None
    assert figure.result.value == pytest.approx(100 * shift_share(10.0, 650e3 * 0.99))


def test_shift_counts_leakage_and_swing_at_zero_volts() -> None:
    """An idle line that may be at 0 V is shifted by the input's leakage alone, in percent of its swing."""
    of = line(STIFF, idle_ohms=Span.exact(100e3))
    figure = judge_shift(network(470e3, 470e3, behind=REGISTER_INPUT), swing(of).idle, swing(of).least_volts)
    assert figure is not None
    assert figure.result is not None
    leak_into_line = 1e-6 * 475e3 / (475e3 + 465.3e3 + 100e3)
    assert figure.result.value == pytest.approx(100 * leak_into_line * 100e3 / 10.5, rel=0.02)
    assert figure.result.unit == "% of its swing"


def test_supply_change() -> None:
    """Ex 13: 0.132 A more on 0.679 Ω sags 0.0895 V, 0.75 % of 11.9 V; without the resistance its limit is named."""
    of = replace(line(Span(0, 1), Span.exact(11.9)), lines_at_once=61)
    figure = judge_supply_change(of, 0.1318 / 61, "", 0.679)
    assert figure is not None
    assert figure.result is not None
    assert round(figure.result.value, 2) == 0.75
    assert figure.result.passes
    unknown = judge_supply_change(of, 1e-3, "", None)
    assert unknown is not None
    assert unknown.verdict is Verdict.UNKNOWN
    assert "1.95 Ω" in unknown.missing
    assert judge_supply_change(replace(of, ours=True), 1e-3, "", 1.0) is None
