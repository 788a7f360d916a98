"""The added sensor: its own line is judged, and the organ's line feels nothing."""

from __future__ import annotations

from dataclasses import astuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.pullup import closed_amps, low_volts
from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Judged, SenseDesign, Verdict
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import register_input
from retrofit.circuits.sense.non_contact import AddedSensor, OpenDrain, design

CATALOGUE = load_catalogue()
INPUT = register_input(CATALOGUE.boards["atmega2560"], next(iter(CATALOGUE.registers.values())))
AUDIO = Line(Span(-0.5, 0.5), Span(-0.5, 0.5), carries_audio=True)
HALL = OpenDrain(on_ohms=20.0, leakage_a=10e-6)


def _named(found: SenseDesign, words: str) -> Judged:
    return next(judged for judged in found.judged if words in judged.criterion)


def test_the_organ_feels_nothing_in_any_state() -> None:
    """On, off, adrift or shorted: 0 µA, on a line that carries audio as on any other."""
    found = design(AUDIO, INPUT)
    assert found.refusals == ()
    assert found.looks_only
    assert astuple(found.felt) == (0.0,) * 6
    assert any("audio" in remark for remark in found.remarks)
    assert not any("audio" in remark for remark in design(Line(None, None), INPUT).remarks)


def test_a_measured_reed_is_judged_at_its_corners() -> None:
    """The low level follows from the divider of reed and weakest pull-up at the supply that is worst."""
    found = design(AUDIO, INPUT, reed_ohms=0.2)
    assert found.verdict is Verdict.GOOD
    low = _named(found, "low level").result
    assert low is not None
    worst = min(100 * (INPUT.vil(v) - low_volts(v, 9500, 0, 0.2)) / v for v in (4.5, 5.5))
    assert low.value == pytest.approx(worst)
    assert low.assumptions == ()


def test_an_unmeasured_reed_is_taken_at_what_must_be_tolerated_and_said() -> None:
    """Without a reading the closed reed is taken at the 200 Ω of a new contact, and the figure says so."""
    low = _named(design(AUDIO, INPUT), "low level").result
    assert low is not None
    assert low.assumptions == ("the closed contact is taken as 200 Ω",)


def test_a_weak_pull_up_starves_the_reed() -> None:
    """Through 100 kΩ less than 0.1 mA flows, which a silver surface does not like (common practice, no source)."""
    judged = _named(design(AUDIO, INPUT, reed_ohms=0.2, pull_up_ohms=100e3), "current through")
    assert judged.verdict is Verdict.FAILS
    assert judged.result is not None
    assert judged.result.value == pytest.approx(1e3 * closed_amps(4.5, 105e3, 0, 0.2))


def test_an_open_drain_switch_needs_its_data() -> None:
    """Without what its sheet prints its levels are unknown; with it they are judged, its leakage included."""
    unknown = design(AUDIO, INPUT, sensor=AddedSensor.OPEN_DRAIN)
    assert unknown.verdict is Verdict.UNKNOWN
    known = design(AUDIO, INPUT, sensor=AddedSensor.OPEN_DRAIN, output=HALL)
    assert known.verdict is Verdict.GOOD
    high = _named(known, "high level").result
    assert high is not None
    worst = min(100 * (v - (INPUT.leakage_a + 10e-6) * 10500 - INPUT.vih(v)) / v for v in (4.5, 5.5))
    assert high.value == pytest.approx(worst)


def test_a_leaky_switch_fails() -> None:
    """A switch that leaks a tenth of a milliampere through 10 kΩ takes a volt from the high level."""
    leaky = OpenDrain(on_ohms=20.0, leakage_a=0.2e-3)
    found = design(AUDIO, INPUT, sensor=AddedSensor.OPEN_DRAIN, output=leaky)
    assert _named(found, "high level").verdict is Verdict.FAILS


@given(st.floats(0, 0.2), st.floats(0, 0.2))
def test_more_tolerance_never_improves_a_margin(first: float, second: float) -> None:
    """Every judged figure of a worse resistor is no better."""
    tight, loose = (design(AUDIO, INPUT, reed_ohms=5.0, tolerance=t) for t in sorted((first, second)))
    for better, worse in zip(tight.judged, loose.judged, strict=True):
        assert better.result is not None
        assert worse.result is not None
        assert worse.result.margin <= better.result.margin + 1e-9
