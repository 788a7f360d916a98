"""Properties of the tap's network and of the search for its resistors."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.result import Span
from retrofit.circuits.sense.pair_choice import Conditions, Targets, choose_pair, ratio_window
from retrofit.circuits.sense.swing import State, swing_of
from retrofit.circuits.sense.tap_choice import choose_tap
from retrofit.circuits.sense.tap_design import edge_us
from retrofit.circuits.sense.tap_network import (
    clamped,
    injected_amps,
    least_margin,
    level_margin,
    level_span,
    line_amps,
    line_threshold,
    node_volts,
    worst_line_amps,
)
from tests.circuits.sense.taps import REGISTER_INPUT, SCHMITT_3V3, line, network, swing

VOLTS, OHMS, AMPS = st.floats(-30, 30), st.floats(1e3, 1e7), st.floats(-1e-6, 1e-6)
NO_CONDITIONS = Conditions(0.0, 0.0, 0.0)


@given(VOLTS, OHMS, OHMS, OHMS, VOLTS, AMPS)
def test_superposition(volts: float, source: float, series: float, lower: float, reference: float, leak: float) -> None:
    """The level is the sum of what line, reference and leakage make of it alone."""
    parts = (
        node_volts(volts, source, series, lower),
        node_volts(0.0, source, series, lower, reference),
        node_volts(0.0, source, series, lower, 0.0, leak),
    )
    assert node_volts(volts, source, series, lower, reference, leak) == pytest.approx(sum(parts), abs=1e-9)


@given(VOLTS, OHMS, OHMS, VOLTS, st.floats(0.1, 10))
def test_scaling_resistances_scales_currents(volts: float, a: float, b: float, reference: float, factor: float) -> None:
    """All resistances times a factor: the same level, every current divided by the factor."""
    level = node_volts(volts, 0, a, b, reference)
    assert node_volts(volts, 0, factor * a, factor * b, reference) == pytest.approx(level, abs=1e-9)
    assert line_amps(volts, 0, factor * a, level) * factor == pytest.approx(line_amps(volts, 0, a, level))
    held = injected_amps(volts, a, b, reference, 3.6)
    assert injected_amps(volts, factor * a, factor * b, reference, 3.6) * factor == pytest.approx(held, abs=1e-12)


@given(VOLTS, OHMS, OHMS, VOLTS)
def test_no_current_is_left_over(volts: float, series: float, lower: float, reference: float) -> None:
    """Kirchhoff: at the open level what comes from the line goes to the reference."""
    level = node_volts(volts, 0, series, lower, reference)
    assert injected_amps(volts, series, lower, reference, level) == pytest.approx(0.0, abs=1e-9)


@given(st.floats(50e3, 2e6), st.floats(50e3, 2e6), st.sampled_from([True, False]))
def test_more_tolerance_never_improves_a_margin(series: float, lower: float, high: bool) -> None:
    """From 0 to 20 % each wider tolerance leaves every level's margin as it was, or smaller."""
    state = State("keyed", Span(-15.0, 15.0), Span(0.0, 10e3))
    for reference in (Span.exact(0.0), Span(3.2, 3.4), None):
        margins = [
            least_margin(network(series, lower, reference=reference, tolerance=tolerance), state, high=high)
            for tolerance in (0.0, 0.01, 0.02, 0.05, 0.2)
        ]
        assert all(wide <= narrow + 1e-9 for narrow, wide in pairwise(margins))


@given(st.floats(50e3, 2e6), st.floats(50e3, 2e6), VOLTS, st.floats(0, 5), st.sampled_from([True, False]))
def test_the_fast_margin_is_the_margin(series: float, lower: float, least: float, width: float, high: bool) -> None:
    """The search uses the very figure that is reported."""
    state = State("idle", Span(least, least + width), Span(0.0, 47e3))
    for reference in (Span.exact(0.0), Span(3.2, 3.4), None):
        tap = network(series, lower, reference=reference, behind=REGISTER_INPUT)
        found = level_margin(tap, state, high=high)
        assert found is not None
        assert least_margin(tap, state, high=high) == pytest.approx(found[0], abs=1e-9)


def test_a_margin_needs_the_source() -> None:
    """Without the source resistance there is no margin to report."""
    assert level_margin(network(470e3, 180e3), State("keyed", Span(10, 12), None), high=True) is None


@given(VOLTS)
def test_clamps_hold_both_sides(volts: float) -> None:
    """Between the clamps the level is open, beyond it is held."""
    assert -0.6 <= clamped(volts, 5.0, 0.6) <= 5.6
    assert clamped(volts, 5.0, 100.0) == volts


@given(st.floats(50e3, 2e6), st.floats(50e3, 2e6))
def test_the_line_threshold_is_where_the_input_reads_low(series: float, lower: float) -> None:
    """A stiff line at the threshold brings the input to its low limit at the worst corner, no corner lies above it."""
    tap = network(series, lower)
    volts = line_threshold(tap, low=True)
    assert level_span(tap, State("idle", Span.exact(volts), Span.exact(0.0))).greatest == pytest.approx(0.6)


def test_reach_of_currents() -> None:
    """The greatest current is found at either sign, and with our supply off nothing but ground is left."""
    tap = network(1e6, 200e3, reference=Span.exact(3.3))
    assert worst_line_amps(tap, Span(-18.0, 5.0), None)[0] < 0
    assert worst_line_amps(tap, Span(-5.0, 18.0), None)[0] > 0
    off, corner = worst_line_amps(tap, Span.exact(0.1), None, powered=False)
    assert off == pytest.approx(0.1 / 0.99e6)
    assert "supply" not in corner


def test_ratio_windows() -> None:
    """12 V to 3 V needs r of at least 1/3, 1.5 V kept below 0.5 V at most 1/2; two states above are hopeless."""
    assert ratio_window([Targets(12.0, 1.5, 3.0, 0.5, 0.0)]) == pytest.approx((1 / 3, 1 / 2))
    assert ratio_window([Targets(12.0, 6.0, 3.0, 0.5, 0.0)]) is None
    assert ratio_window([Targets(0.0, -12.0, 2.0, 1.0, 3.0)]) == pytest.approx((2 / 13, 1 / 2))


def test_the_greatest_pair_is_taken_and_the_finer_series_is_the_last_resort() -> None:
    """E24 is left for E96 only when nothing of E24 fits, and a hopeless target has no pair."""
    targets = [Targets(12.0, 1.5, 3.0, 0.5, 0.0)]
    coarse = choose_pair(targets, lambda _: True, NO_CONDITIONS)
    assert coarse is not None
    assert (coarse.series, coarse.from_series) == (2.2e6, "E24")
    fine = choose_pair(targets, lambda pair: pair.from_series == "E96", NO_CONDITIONS)
    assert fine is not None
    assert fine.series == 2.15e6
    assert choose_pair(targets, lambda _: False, NO_CONDITIONS) is None
    assert choose_pair([Targets(2.0, 1.5, 3.0, 0.5, 0.0)], lambda _: True, NO_CONDITIONS) is None


def test_a_slow_input_is_given_a_lower_resistance() -> None:
    """A large capacitance at the input forces smaller resistors until the edges come in time."""
    of = swing(line())
    light = choose_tap(of, SCHMITT_3V3, Span.exact(0.0), 0.01)
    heavy = choose_tap(of, replace(SCHMITT_3V3, capacitance_pf=1000.0), Span.exact(0.0), 0.01)
    assert light is not None
    assert heavy is not None
    assert heavy.series < light.series / 5


def test_edges_without_a_capacitance_or_a_level() -> None:
    """An unknown capacitance costs nothing here (it is judged apart); a level that never comes takes for ever."""
    of = swing(line())
    bare = replace(SCHMITT_3V3, capacitance_pf=None)
    assert edge_us(network(470e3, 180e3, behind=bare), of.idle, of.keyed) == 0.0
    assert edge_us(network(470e3, 47e3), of.idle, of.keyed) == float("inf")


def test_states_that_cannot_be_ordered() -> None:
    """Unread or overlapping states have no order."""
    assert swing_of(line(idle=None)) is None
    assert swing_of(line(idle=Span(0.0, 11.0))) is None
    assert not swing(line(Span(10.0, 12.0), Span(0.0, 1.0))).keyed_high
