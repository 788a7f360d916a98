"""Listening to a keyboard that is scanned already: current, capacitance, and the window in which a sample counts."""

from __future__ import annotations

from dataclasses import astuple, replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.catalogue.load import load_catalogue
from retrofit.circuits.eseries_values import Series, nearest
from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import SenseDesign, Verdict
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import pin_input
from retrofit.circuits.sense.strobe_listening import LISTENING_AMPS, design
from retrofit.circuits.sense.strobe_window import Strobes, judge_window, width_us
from tests.circuits.spice import run_netlist

CATALOGUE = load_catalogue()
PIN = pin_input(CATALOGUE.boards["atmega2560"])
CABLE = CATALOGUE.cables["unknown"]
LINE = Line(None, None, carries_audio=False)
STROBES = Strobes(Span(1500, 1700), Span(1 / 9, 1 / 8), Span(0, 0.4), Span(11.4, 12.6), Span(100, 5e3))


def _design(strobes: Strobes = STROBES, *, lead_m: float | None = 0.2, late: float | None = 10.0) -> SenseDesign:
    return design(LINE, PIN, strobes=strobes, cable=CABLE, lead_m=lead_m, sample_late_us=late, rail_load_a=0.05)


def _result(found: SenseDesign, words: str) -> Result:
    result = next(judged.result for judged in found.judged if words in judged.criterion)
    assert result is not None
    return result


def test_a_scanned_keyboard_is_listened_to() -> None:
    """12 V strobes of 167 µs and more are read through resistors of E24 without breaking any limit."""
    found = _design()
    assert found.verdict is Verdict.GOOD
    assert found.looks_only
    assert found.keyed_reads_high is True
    for part in found.parts:
        assert part.value == pytest.approx(nearest(Series.E24, part.value))


@given(st.floats(4.5, 30), st.floats(0.01, 0.06))
@settings(max_examples=25, deadline=None)
def test_no_line_ever_gives_more_than_fifty_microamperes(volts: float, spread: float) -> None:
    """Powered or dead, idle or strobed: what the line feels stays within 50 µA, or the circuit is refused."""
    found = _design(replace(STROBES, strobed_volts=Span.around(volts, spread)))
    if found.refusals:
        assert "no two resistors" in found.refusals[0]
        return
    felt = found.felt
    for microamps in (felt.on_ua, felt.idle_ua, felt.off_ua):
        assert microamps is not None
        assert abs(microamps) <= 1e6 * LISTENING_AMPS


@given(st.floats(0.1, 2.5), st.floats(5, 30))
@settings(max_examples=25, deadline=None)
def test_what_is_chosen_keeps_both_levels(idle: float, strobed: float) -> None:
    """Resistors are chosen only where both levels keep their margins; else the circuit is refused."""
    found = _design(replace(STROBES, idle_volts=Span(0, idle), strobed_volts=Span.around(strobed, 0.05)))
    if not found.refusals:
        assert _result(found, "low level").passes
        assert _result(found, "high level").passes


def test_a_low_level_without_its_margin_is_refused() -> None:
    """1.1 V idle against 4.5 V keeps 5 % of the supply below the limit; 1.2 V is still below it, without the margin."""
    strobes = replace(STROBES, strobed_volts=Span.around(4.5, 0.03))
    assert not _design(replace(strobes, idle_volts=Span(0, 1.1))).refusals
    assert _design(replace(strobes, idle_volts=Span(0, 1.2))).refusals


def test_capacitance_on_either_side_of_the_resistors_narrows_the_window() -> None:
    """A longer lead and an input with more capacitance both settle later."""
    usual = _result(_design(), "strobe").value
    heavy = replace(PIN, capacitance_pf=50.0)
    slower = design(LINE, heavy, strobes=STROBES, cable=CABLE, lead_m=0.2, sample_late_us=10.0, rail_load_a=0.05)
    assert _result(slower, "strobe").value < usual
    assert _result(_design(lead_m=0.9), "strobe").value < usual


def test_the_window_is_width_less_wait_less_lateness() -> None:
    """1500 µs with an eighth of duty are 187.5 µs; less 3 x 4 µs of settling and 10 µs of lateness, 165.5 µs."""
    strobes = replace(STROBES, period_us=Span.exact(1500), duty=Span.exact(0.125))
    assert width_us(1500, 0.125) == strobes.least_width_us == 187.5
    judged = judge_window(strobes, 4.0, 10.0)
    assert judged.result is not None
    assert judged.result.value == pytest.approx(165.5)


def test_a_quick_input_still_waits_five_microseconds() -> None:
    """The wait is never below 5 µs (common practice, no source)."""
    judged = judge_window(replace(STROBES, period_us=Span.exact(80), duty=Span.exact(0.25)), 0.1, 10.0)
    assert judged.result is not None
    assert judged.result.value == pytest.approx(5.0)


def test_a_short_strobe_is_missed() -> None:
    """A strobe of 20 µs is over before our input has settled."""
    found = _design(replace(STROBES, period_us=Span.exact(160), duty=Span.exact(0.125)))
    assert not _result(found, "strobe").passes
    assert found.verdict is Verdict.FAILS


def test_a_long_lead_loads_the_line() -> None:
    """More than 100 pF on a line is too much (common practice, no source): at 100 pF/m a metre is the end."""
    assert _result(_design(lead_m=0.99), "capacitance").passes
    assert not _result(_design(lead_m=1.01), "capacitance").passes


def test_the_scan_delays_what_is_heard() -> None:
    """A change is seen one whole scan later at worst."""
    assert _design().press_delay_us == _design().release_delay_us == 1700


SETTLING = """a strobed return, its lead, and the tap's resistors before the input
vs s 0 pulse(0.4 11.4 1u 10n 10n 150u 400u)
rs s line 5k
clead line 0 20p
r1 line in {series}
r2 in 0 {lower}
cin in 0 10p
.tran 20n 140u
.control
run
meas tran level find v(in) at=140u
meas tran line find v(line) at=140u
meas tran high when v(in)={threshold} rise=1
.endc
.end
"""


def test_settling_agrees_with_a_circuit_simulator(tmp_path: Path) -> None:
    """ngspice: level and current within 1 %, and the rise no slower than the wait takes it to be."""
    found = _design()
    series, lower = (part.value for part in found.parts)
    threshold = PIN.vih(5.5)
    netlist = SETTLING.format(series=series * 1.01, lower=lower * 0.99, threshold=threshold)
    (shown,) = run_netlist(tmp_path, netlist)
    leaks = PIN.leakage_a * 0.99 * lower * (series * 1.01 + 5e3) / (series * 1.01 + 5e3 + 0.99 * lower)
    high = _result(found, "high level")
    assert (shown["level"] - leaks - threshold) / 5.5 * 100 == pytest.approx(high.value, rel=0.01)
    wait_us = float(_result(found, "strobe").corner.partition("waiting ")[2].partition(" ")[0])
    assert 1e6 * shown["high"] - 1 <= wait_us / 3


@pytest.mark.parametrize(
    ("found", "missing"),
    [
        (_design(replace(STROBES, period_us=None)), "the period and duty"),
        (_design(replace(STROBES, duty=None)), "the period and duty"),
        (_design(replace(STROBES, strobed_volts=None)), "with an oscilloscope"),
        (_design(replace(STROBES, source_ohms=None)), "how fast our input settles"),
        (_design(lead_m=None), "the length of the lead"),
        (_design(late=None), "how much later than meant"),
    ],
)
def test_what_is_unknown_stays_unknown(found: SenseDesign, missing: str) -> None:
    """A scan that was not measured is not judged, and the words say what to measure."""
    assert found.verdict is Verdict.UNKNOWN
    assert any(missing in judged.missing for judged in found.judged)


def test_audio_and_overlapping_levels_are_refused() -> None:
    """A line that carries audio is refused, and so are strobes that cannot be told from rest."""
    audio = design(replace(LINE, carries_audio=True), PIN, strobes=STROBES, cable=CABLE)
    assert audio.refusals
    assert astuple(audio.felt) == (None,) * 6
    assert _design(replace(STROBES, strobed_volts=Span(0.3, 0.5))).refusals


def test_levels_too_near_are_refused_with_a_remedy() -> None:
    """2.4 V against 1 V leaves no room for a 5 V input: buffers or comparators are named."""
    found = _design(replace(STROBES, idle_volts=Span(0, 1.0), strobed_volts=Span(2.4, 3.5)))
    assert "comparators" in found.refusals[0]
