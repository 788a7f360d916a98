"""The input for inductive lines: ratings, power and clamp current at the kick."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.result import Span
from retrofit.circuits.sense import spike_rated, tap_design
from retrofit.circuits.sense.design import Verdict
from retrofit.circuits.sense.pair_choice import Pair
from retrofit.circuits.sense.resistor_bodies import BODIES
from tests.circuits.sense.taps import REGISTER_INPUT, STIFF, judged, line, network, result

MAGNET = line(
    Span(0.0, 0.5), idle_ohms=Span(90.0, 150.0), keyed_ohms=STIFF, keyed_amps=100e-3, kick_volts=400.0, lines_at_once=10
)
KNOWN = {"rail_load_a": 20e-3, "organ_supply_ohms": 0.679}


@given(st.floats(1.0, 2000.0), st.floats(0.0, 50.0))
def test_enough_resistors_for_the_kick(kick: float, volts: float) -> None:
    """So many as bear 1.5 times kick and line at their rated volts, and not one more (common practice, no source)."""
    count = spike_rated.resistors_in_series(kick, volts, 250.0)
    assert count * 250.0 >= 1.5 * (kick + volts)
    assert (count - 1) * 250.0 < 1.5 * (kick + volts)


def test_energy_of_a_rectangular_kick() -> None:
    """400 V for 1 ms in 1 MΩ are 160 µJ, P = U²/R for the time that it lasts."""
    assert spike_rated.kick_joules(400.0, 1e6, 1e-3) == pytest.approx(160e-6)


@pytest.mark.parametrize("kick", [100.0, 250.0, 400.0])
def test_a_magnet_line_is_borne(kick: float) -> None:
    """Each series resistor stays in its rating at 1.5 times the kick, and the clamp within 1 mA at the kick itself."""
    found = spike_rated.design(replace(MAGNET, kick_volts=kick), REGISTER_INPUT, **KNOWN)
    assert found.verdict in (Verdict.GOOD, Verdict.NARROW)
    series = [part for part in found.parts if part.role.startswith("in series")]
    assert len(series) * 250 >= 1.5 * kick
    total = sum(part.value for part in series)
    clamp = result(found, spike_rated.KICK_CLAMP)
    assert 0.9 * 1e3 * kick / total < clamp.value < 1e3 * (kick + 15.5) / total / 0.99
    assert clamp.limit == 1.0
    assert result(found, spike_rated.KICK_POWER).passes


def test_too_small_a_series_resistor_is_caught() -> None:
    """One resistor of 100 kΩ at 400 V: beyond its volts, its power and the clamp's milliampere."""
    figures = spike_rated.judge_kick(network(100e3, 39e3), Pair(100e3, 39e3, "E24"), Span(-400.0, 415.5))
    assert [figure.verdict for figure in figures] == [Verdict.FAILS] * 3
    assert result(figures, spike_rated.RATING).value == pytest.approx(1.5 * 415.5 * 1.01)
    power = result(figures, spike_rated.KICK_POWER)
    assert power.value == pytest.approx(415.5**2 / 100e3, rel=0.03)
    assert power.limit == 0.5 * BODIES[0].watts


def test_unknown_and_absent_kicks() -> None:
    """A kick that was not measured is asked for; a line without one is sent to the plain divider."""
    unknown = spike_rated.design(replace(MAGNET, kick_volts=None), REGISTER_INPUT, **KNOWN)
    assert judged(unknown, spike_rated.RATING).verdict is Verdict.UNKNOWN
    assert unknown.parts == ()
    absent = spike_rated.design(replace(MAGNET, kick_volts=0.0), REGISTER_INPUT, **KNOWN)
    assert "high-impedance divider" in absent.refusals[0]


def test_a_line_below_ground_is_refused() -> None:
    """A magnet line that rests at −5 V would be pulled at by the clamp."""
    below = spike_rated.design(replace(MAGNET, idle_volts=Span(-6.0, -5.0)), REGISTER_INPUT)
    assert "-6 V" in below.refusals[0]


def test_other_refusals_and_unread_volts() -> None:
    """Audio and states too close are refused; unread volts stay unknown."""
    audio = spike_rated.design(replace(MAGNET, carries_audio=True), REGISTER_INPUT)
    close = spike_rated.design(replace(MAGNET, idle_volts=Span(8.0, 10.0)), REGISTER_INPUT)
    unread = spike_rated.design(replace(MAGNET, keyed_volts=None), REGISTER_INPUT)
    assert "sound" in audio.refusals[0]
    assert "comparator" in close.refusals[0]
    assert judged(unread, tap_design.HIGH_LEVEL).verdict is Verdict.UNKNOWN
