"""Unfiltered supplies: gaps, the samples that bridge them, and held peaks."""

from __future__ import annotations

from dataclasses import replace
from math import inf, pi, sin, sqrt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Felt, SenseDesign, Verdict
from retrofit.circuits.sense.line import Ripple
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.rectifier_gap import gap_us, low_samples_most, release_samples, ripple_gap_us
from retrofit.circuits.sense.ripple_bridging import design
from tests.circuits.sense_cases import MAGNET_LINE, REGISTER_INPUT, judged
from tests.circuits.spice import run_netlist

PEAK = 12 * sqrt(2) - 1.4
FULL = replace(MAGNET_LINE, ripple=Ripple(Span(PEAK, 1.1 * PEAK), 50.0, full_wave=True))
HALF = replace(MAGNET_LINE, ripple=Ripple(Span(PEAK, 1.1 * PEAK), 50.0, full_wave=False))
DIVIDER = SenseDesign("divider", True, True, (), (), Felt(24.0, 0.0, 24.0, 24.0, 33.0, 25.0))  # invented figures
SCHMITT = replace(REGISTER_INPUT, schmitt=True)

HELD = """* half-wave supply, charging resistor, diode, capacitor and a resistive input
Vac ac 0 SIN(0 {peak} 50)
Dhalf ac line half
Rload line 0 200
Rcharge line a {charge}
Dhold a in hold
Chold in 0 {farads}
Rinput in 0 {ohms}
.model half D(IS=1e-14 N=0.1)
.model hold D(IS=2.5n N=1.9 RS=0.6)
.tran 20u 200m
.control
run
meas tran lowest min v(in) from=100m to=200m
.endc
.end
"""


def held(logic: LogicInput, thresholds: Span) -> SenseDesign:
    """Return the half-wave line with its peaks held before a divider of 650 kΩ."""
    ohms = Span(640e3, 660e3)
    return design(HALF, logic, inner=DIVIDER, thresholds=thresholds, input_ohms=ohms, peak_hold=True)


@pytest.mark.parametrize(
    ("hertz", "full_wave", "milliseconds"), [(50, True, 2.52), (60, True, 2.10), (50, False, 12.52), (60, False, 10.43)]
)
def test_worked_gap(hertz: float, full_wave: bool, milliseconds: float) -> None:
    """D6: 12 V AC less 1.4 V, threshold 6 V: 2.52 and 2.10 ms (full wave), 12.52 and 10.43 ms (half wave)."""
    assert round(PEAK, 2) == 15.57
    assert round(gap_us(6.0, PEAK, hertz, full_wave=full_wave) / 1e3, 2) == milliseconds


@pytest.mark.parametrize(("full_wave", "low", "needed"), [(True, 3, 4), (False, 13, 14)])
def test_worked_samples(full_wave: bool, low: int, needed: int) -> None:
    """D6: at 1 ms at most 3 (full wave) and 13 (half wave) samples are low; a release waits for 4 and 14."""
    gap = gap_us(6.0, PEAK, 50, full_wave=full_wave)
    assert low_samples_most(gap, 1000) == low
    assert release_samples(gap, 1000) == needed


@given(st.floats(0.5, 14), st.sampled_from([50.0, 60.0]), st.booleans(), st.floats(100, 3000), st.floats(0, 1))
def test_no_gap_spoils_more_samples(
    threshold: float, hertz: float, full_wave: bool, sample_us: float, phase: float
) -> None:
    """Sampling the rectified sine itself never finds more low samples in a row than computed."""
    gap = gap_us(threshold, 15.0, hertz, full_wave=full_wave)
    longest = run = 0
    for number in range(200):
        wave = 15.0 * sin(2 * pi * hertz * 1e-6 * (phase * sample_us + number * sample_us))
        low = (abs(wave) if full_wave else wave) < threshold
        run = run + 1 if low else 0
        longest = max(longest, run)
    period = 1e6 / hertz / (2 if full_wave else 1)
    if period - gap > sample_us:  # else a whole peak can fall between two samples
        assert longest <= low_samples_most(gap, sample_us)


def test_the_lowest_peak_and_the_slowest_mains_decide() -> None:
    """The gap of a supply is longer than its nominal one, and endless when the peaks stay below the threshold."""
    ripple = Ripple(Span(PEAK, 20.0), 50.0, full_wave=True)
    assert ripple_gap_us(ripple, 6.0) == pytest.approx(gap_us(6.0, PEAK, 50, full_wave=True) / 0.99)
    assert ripple_gap_us(ripple, 16.0) == inf


def test_an_optocoupler_is_bridged_by_samples() -> None:
    """A full-wave supply adds a short gap, a half-wave one more than half a period, and both are said."""
    full, half = (design(line, REGISTER_INPUT, organ_supply_ohms=0.5) for line in (FULL, HALF))
    assert full.refusals == half.refusals == ()
    assert half.gap_us - full.gap_us == pytest.approx(10_000 / 0.99)
    assert full.press_delay_us >= full.gap_us
    assert full.verdict is not Verdict.UNKNOWN
    assert judged(half, "gap between half waves").verdict is Verdict.NARROW
    assert any(f"{half.gap_us / 1e3:.2f} ms" in remark for remark in half.remarks)


def test_another_circuit_brings_its_thresholds() -> None:
    """A divider is bridged when its thresholds are given; without them the gap stays unknown."""
    known = design(FULL, REGISTER_INPUT, inner=DIVIDER, thresholds=Span(4.0, 6.0))
    unknown = design(FULL, REGISTER_INPUT, inner=DIVIDER)
    assert round(known.gap_us / 1e3, 2) == round(2.517 / 0.99, 2)
    assert judged(unknown, "gap between half waves").verdict is Verdict.UNKNOWN


def test_peaks_too_low_never_read() -> None:
    """Thresholds above the peaks make the gap endless, and the design fails with the reason."""
    found = design(FULL, REGISTER_INPUT, inner=DIVIDER, thresholds=Span(10.0, 16.0))
    assert found.verdict is Verdict.FAILS
    assert any("do not reach" in remark for remark in found.remarks)
    assert found.press_delay_us < inf


def test_a_filtered_supply_has_nothing_to_bridge() -> None:
    """Without gaps the circuit is refused."""
    assert "nothing to bridge" in design(MAGNET_LINE, REGISTER_INPUT).refusals[0]


def test_held_peaks_against_ngspice(tmp_path: Path) -> None:
    """The chosen capacitor, at its least, keeps a half-wave line above the threshold in ngspice; a third fails."""
    found = held(SCHMITT, Span(4.0, 6.0))
    assert found.refusals == ()
    assert found.gap_us == 0
    charge, _, capacitor = (part.value for part in found.parts[:3])
    lowest = [
        run_netlist(tmp_path, HELD.format(peak=PEAK, charge=charge, farads=farads, ohms=640e3))[0]["lowest"]
        for farads in (0.8 * capacitor, 0.25 * capacitor)
    ]
    assert lowest[0] > 6.0 > lowest[1]
    assert found.release_delay_us > 20_000


def test_peaks_are_held_only_before_a_schmitt_resistance() -> None:
    """An input without hysteresis, an optocoupler, and peaks below the threshold are refused."""
    assert "no Schmitt input" in held(REGISTER_INPUT, Span(4.0, 6.0)).refusals[0]
    assert "plain resistance" in design(HALF, SCHMITT, peak_hold=True).refusals[0]
    assert "do not reach" in held(SCHMITT, Span(4.0, 15.0)).refusals[0]
