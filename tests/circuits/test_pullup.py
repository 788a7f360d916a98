"""A contact with a pull-up: levels, tolerated contact resistance and wetting."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.pullup import (
    CONTACT_OHMS_NEW,
    PullUpSense,
    closed_amps,
    judge_pull_up,
    largest_contact_ohms,
    low_volts,
    sense_on_pin,
    sense_on_register,
)
from retrofit.circuits.result import Span

CATALOGUE = load_catalogue()
BOARD = CATALOGUE.boards["atmega2560"]
REGISTER = CATALOGUE.registers["74hc165"]
SILVER = CATALOGUE.contacts["silver-leaf"]


def nominal(supply: float, pull_up: float, series: float, vil_fraction: float, leakage_a: float) -> PullUpSense:
    """Return a line without tolerances."""
    return PullUpSense(
        Span.exact(supply),
        Span.exact(pull_up),
        Span.exact(series),
        lambda volts: vil_fraction * volts,
        lambda volts: 0.7 * volts,
        leakage_a,
    )


def test_worked_bus() -> None:
    """Ex 6: 3.3 V, 10 kΩ: 0.33 mA a key, 20.1 mA for 61, at most 4286 Ω, 2222 Ω with a threshold of 0.6 V."""
    amps = closed_amps(3.3, 10e3, 0, 0)
    assert round(amps * 1e3, 2) == 0.33
    assert round(61 * amps * 1e3, 1) == 20.1
    assert round(largest_contact_ohms(3.3, 10e3, 0, 0.99)) == 4286
    assert round(largest_contact_ohms(3.3, 10e3, 0, 0.6)) == 2222


def test_worked_bus_as_results() -> None:
    """Ex 6 run without tolerance: contact tolerance and wetting pass, 5 µA of leakage drop 0.05 V."""
    results = judge_pull_up(nominal(3.3, 10e3, 0, 0.3, 5e-6), contact_ohms=0.0, contact=SILVER)
    assert round(results.contact_tolerance.value) == 4286
    assert results.contact_tolerance.passes
    assert round(results.wetting_current.value, 2) == 0.33
    assert results.wetting_volts.passes
    assert results.wetting_current.passes
    assert results.high_level.value == pytest.approx(100 * (3.3 - 0.05 - 0.7 * 3.3) / 3.3)


def test_worked_toe_stud() -> None:
    """Ex 16: 1 kΩ in series: 0.157 V (20 kΩ), 0.065 V (50 kΩ), 0.300 V (10 kΩ), 0.579 V (4.7 kΩ); at most 3286 Ω."""
    levels = [low_volts(3.3, pull_up, 1e3, 0) for pull_up in (20e3, 50e3, 10e3, 4.7e3)]
    assert [round(level, 3) for level in levels] == [0.157, 0.065, 0.3, 0.579]
    assert round(0.99 - levels[3], 3) == 0.411
    assert round(largest_contact_ohms(3.3, 10e3, 1e3, 0.99)) == 3286


@given(st.floats(2, 6), st.floats(1e3, 1e5), st.floats(0, 1e3), st.floats(0.1, 0.5))
def test_the_largest_contact_is_just_read_low(supply: float, pull_up: float, series: float, fraction: float) -> None:
    """A contact of the largest resistance lies exactly at the limit: the two formulas undo each other."""
    largest = largest_contact_ohms(supply, pull_up, series, fraction * supply)
    assert low_volts(supply, pull_up, series, largest) == pytest.approx(fraction * supply)


def test_old_contacts_on_a_register() -> None:
    """On the chain at 5 V ± 10 % a contact of 1 kΩ is read with margin; the lowest supply and pull-up decide."""
    results = judge_pull_up(sense_on_register(BOARD, REGISTER), contact_ohms=None, contact=SILVER)
    limit = 1.35 * 9500 / (4.5 - 1.35)
    assert results.contact_tolerance.value == pytest.approx(limit)
    assert results.contact_tolerance.corner == "supply 4.5 V, pull up 9.5 kΩ"
    assert results.low_level.passes
    assert results.high_level.passes
    assert results.low_level.assumptions == ("the closed contact is taken as 1 kΩ",)


def test_a_measured_contact_leaves_nothing_assumed() -> None:
    """With a measured resistance no assumption is made, and a bad contact fails."""
    good = judge_pull_up(sense_on_pin(BOARD), contact_ohms=5.0)
    bad = judge_pull_up(sense_on_pin(BOARD), contact_ohms=20e3)
    assert good.low_level.assumptions == ()
    assert good.low_level.passes
    assert not bad.low_level.passes


def test_the_boards_own_pull_up_is_too_weak_to_wet_silver() -> None:
    """At 4.5 V the weakest 50 kΩ gives 0.09 mA, below the 0.1 mA that silver wants (common practice, no source)."""
    results = judge_pull_up(sense_on_pin(BOARD), contact_ohms=0.0, contact=SILVER)
    assert results.wetting_current.value == pytest.approx(0.09)
    assert not results.wetting_current.passes
    assert "pull up 50 kΩ" in results.wetting_current.corner


def test_what_must_be_tolerated_can_be_chosen() -> None:
    """New contacts are asked for 200 Ω only."""
    series = Span.exact(8e3)
    old = judge_pull_up(sense_on_pin(BOARD, series=series), contact_ohms=0.0)
    new = judge_pull_up(sense_on_pin(BOARD, series=series), contact_ohms=0.0, contact_ohms_wanted=CONTACT_OHMS_NEW)
    assert not old.contact_tolerance.passes
    assert new.contact_tolerance.passes


def test_leakage_through_a_large_pull_up_fails_high() -> None:
    """50 µA through 47 kΩ pull the open line below the input's limit."""
    assert not judge_pull_up(nominal(3.3, 47e3, 0, 0.3, 50e-6), contact_ohms=0.0).high_level.passes
