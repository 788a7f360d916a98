"""The small pieces that sense circuits share: knee, orientation of a line, resistor sizes, inputs."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.result import Span
from retrofit.circuits.sense.driven import driven
from retrofit.circuits.sense.knee import Knee
from retrofit.circuits.sense.line import Ripple
from retrofit.circuits.sense.logic_input import pin_input, register_input
from retrofit.circuits.sense.resistor_bodies import BODIES, body_for
from tests.circuits.sense_cases import CATALOGUE, MAGNET_LINE, without

KNEE = Knee(2e-6, 2.0, 5e-3, 4.8)


def test_a_knee_meets_its_two_points() -> None:
    """At its printed currents a knee has its printed volts, above them no more, below them in proportion."""
    assert KNEE.volts_at(2e-6) == pytest.approx(2.0)
    assert KNEE.volts_at(5e-3) == pytest.approx(4.8)
    assert KNEE.volts_at(1.0) == 4.8
    assert KNEE.volts_at(1e-6) == pytest.approx(1.0)
    assert KNEE.volts_at(0.0) == 0.0


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_knee_only_rises(one: float, other: float) -> None:
    """More current never means fewer volts."""
    low, high = sorted((one, other))
    assert KNEE.volts_at(low) <= KNEE.volts_at(high)


def test_the_greater_volts_drive() -> None:
    """The state with the greater volts drives the LED, whichever it is, and negative lines are turned."""
    rests_high = driven(replace(MAGNET_LINE, idle_volts=Span(11.0, 13.0), keyed_volts=Span(0.0, 1.0)))
    negative = driven(replace(MAGNET_LINE, idle_volts=Span(-1.0, 2.0), keyed_volts=Span(-15.0, -10.0)))
    assert rests_high is not None
    assert negative is not None
    assert not rests_high.keyed_drives
    assert rests_high.on_ohms == MAGNET_LINE.idle_ohms
    assert negative.on == Span(10.0, 15.0)
    assert negative.off == Span(-2.0, 1.0)
    assert negative.backward_volts == 2.0


def test_peaks_stand_for_the_keyed_volts() -> None:
    """On an unfiltered supply the peaks drive the LED, with the sign of the line."""
    ripple = Ripple(Span(14.0, 17.0), 50.0, full_wave=True)
    below = driven(replace(MAGNET_LINE, keyed_volts=Span(-11.0, -9.0), ripple=ripple))
    unread = driven(replace(without(MAGNET_LINE, "keyed_volts"), ripple=ripple))
    assert below is not None
    assert unread is not None
    assert below.on == unread.on == Span(14.0, 17.0)


@pytest.mark.parametrize("name", ["idle_volts", "kick_volts"])
def test_backward_volts_stay_unknown(name: str) -> None:
    """Without idle volts or kick nobody knows what comes backwards; without keyed volts nothing is known."""
    found = driven(without(MAGNET_LINE, name))
    assert found is not None
    assert found.backward_volts is None
    assert driven(without(MAGNET_LINE, "keyed_volts")) is None


@pytest.mark.parametrize(
    ("watts", "volts", "rated"), [(0.1, 15, 0.25), (0.13, 15, 0.5), (0.1, 300, 0.5), (0.1, 400, 1), (5, 10, 2)]
)
def test_resistor_sizes(watts: float, volts: float, rated: float) -> None:
    """The smallest size that bears half its power and the volts is taken; beyond all of them the largest."""
    assert body_for(watts, volts).watts == rated
    assert body_for(watts, volts) in BODIES


def test_inputs_take_their_limits_from_the_catalogue() -> None:
    """A register at 4.5 V has VIL 1.35 V and VIH 3.15 V (SCLS116G); a pin 0.3 and 0.6 of its supply (Atmel 2549)."""
    board = CATALOGUE.boards["atmega2560"]
    register, pin = register_input(board, CATALOGUE.registers["74hc165"]), pin_input(board)
    assert (register.vil(4.5), register.vih(4.5)) == pytest.approx((1.35, 3.15))
    assert (pin.vil(5.0), pin.vih(5.0)) == pytest.approx((1.5, 3.0))
    assert register.capacitance_pf == pytest.approx(10.0)
    assert pin.leakage_a == pytest.approx(1e-6)
