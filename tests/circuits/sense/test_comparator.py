"""The comparator: its threshold, its levels at both sides, and lines that no divider alone can read."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.circuits.result import Span
from retrofit.circuits.sense import comparator, offset_divider, tap_design
from retrofit.circuits.sense.comparator import DUAL_COMPARATOR, Comparator, Threshold, choose_threshold, threshold_volts
from retrofit.circuits.sense.design import SenseDesign, Verdict
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput
from tests.circuits.sense.taps import REGISTER_INPUT, SCHMITT_3V3, STIFF, judged, line, network, result, swing

BIASED = line(Span(-18.0, -14.0), STIFF, idle_ohms=STIFF, keyed_ohms=STIFF, keyed_amps=0.0)


def designed(of: Line, behind: LogicInput, part: Comparator = DUAL_COMPARATOR) -> SenseDesign:
    """Return the comparator on a board and an organ whose surroundings are known."""
    return comparator.design(of, behind, part=part, rail_load_a=20e-3, organ_supply_ohms=1.0)


def test_threshold_is_that_of_three_resistors() -> None:
    """Kirchhoff: the currents through the three resistors into the threshold add up to nothing."""
    for output in (0.0, 5.0):
        volts = threshold_volts(5.0, output, 20e3, 22e3, 1e6)
        assert (5.0 - volts) / 20e3 + (output - volts) / 1e6 == pytest.approx(volts / 22e3)


def test_hysteresis_is_the_share_of_the_feedback() -> None:
    """The two thresholds lie VDD·(Ra || Rb)/(Ra || Rb + Rf) apart: 49.5 mV for 10 kΩ and 1 MΩ at 5 V."""
    low, high = (threshold_volts(5.0, output, 20e3, 20e3, 1e6) for output in (0.0, 5.0))
    assert high - low == pytest.approx(5.0 * 10e3 / 1.01e6)


def test_the_offset_widens_the_thresholds() -> None:
    """The input is sure only 9 mV below the lower and above the upper threshold, each at its worst resistors."""
    threshold = Threshold(Span.around(20e3, 0.01), Span.around(20e3, 0.01), Span.around(1e6, 0.01))
    compared = comparator.comparator_input(Span.exact(5.0), threshold, DUAL_COMPARATOR)
    lower = threshold_volts(5.0, 0.0, 20.2e3, 19.8e3, 0.99e6)
    upper = threshold_volts(5.0, 5.0, 19.8e3, 20.2e3, 0.99e6)
    assert compared.vil(5.0) == pytest.approx(lower - 9e-3, abs=1e-6)
    assert compared.vih(5.0) == pytest.approx(upper + 9e-3, abs=1e-6)


def test_the_chosen_threshold_leaves_the_comparator_its_room() -> None:
    """At 4.5 to 5.5 V the threshold is near half the supply, at 3.3 V lower, always 2 V below the supply."""
    for supply in (Span(4.5, 5.5), Span(3.135, 3.465)):
        threshold, _ = choose_threshold(supply, DUAL_COMPARATOR, 0.01)
        assert threshold.volts(supply.least, supply.least).greatest + 2.0 <= supply.least


def test_a_biased_gate_that_no_divider_reads() -> None:
    """On a register at 4.5 to 5.5 V the offset divider has no values for −14 V to 0 V; the comparator reads it."""
    assert "comparator" in offset_divider.design(BIASED, REGISTER_INPUT).refusals[0]
    found = designed(BIASED, REGISTER_INPUT)
    assert found.verdict in (Verdict.GOOD, Verdict.NARROW)
    assert found.keyed_reads_high is False
    assert [part.kind for part in found.parts].count("resistor") == 6
    assert result(found, comparator.OUTPUT_LOW).passes
    assert result(found, comparator.OUTPUT_HIGH).passes
    assert result(found, comparator.COMMON_MODE).passes


def test_a_positive_line_goes_to_our_ground() -> None:
    """A line that stays positive needs no reference: the second resistor goes to our ground."""
    found = designed(line(Span(0.0, 3.0), Span(8.0, 12.0)), REGISTER_INPUT)
    assert found.verdict in (Verdict.GOOD, Verdict.NARROW)
    assert found.parts[1].role == "from the input to our ground"


def test_a_comparator_that_cannot_pull_low_enough_fails() -> None:
    """Behind an input with a low limit of 0.6 V an output of 0.7 V fails, and is reported as such."""
    found = designed(BIASED, SCHMITT_3V3)
    assert judged(found, comparator.OUTPUT_LOW).verdict is Verdict.FAILS
    better = designed(BIASED, SCHMITT_3V3, replace(DUAL_COMPARATOR, low_volts=0.2))
    assert judged(better, comparator.OUTPUT_LOW).verdict is Verdict.GOOD


def test_the_input_stays_above_what_turns_the_output_over() -> None:
    """The chosen pair holds the level above −0.3 V without the clamp's help; another pair that does not is caught."""
    found = designed(BIASED, REGISTER_INPUT)
    assert result(found, comparator.LOWEST).value >= -0.3
    deep = comparator.judge_lowest(network(1e6, 1e6, reference=None, behind=REGISTER_INPUT), swing(BIASED))
    assert deep.verdict is Verdict.FAILS
    wide = designed(line(Span(-60.0, -14.0), STIFF), REGISTER_INPUT)
    assert "move the tap" in wide.refusals[0]


def test_too_little_room_is_reported() -> None:
    """A threshold set too high for the comparator's inputs fails its room."""
    high = Threshold(Span.exact(10e3), Span.exact(20e3), Span.exact(1e6))
    figure = judged(comparator.judge_output(REGISTER_INPUT, high, DUAL_COMPARATOR), comparator.COMMON_MODE)
    assert figure.verdict is Verdict.FAILS


def test_refusals_and_unknowns() -> None:
    """Audio, kicks and states too close are refused; unread volts stay unknown."""
    assert "sound" in comparator.design(line(carries_audio=True), REGISTER_INPUT).refusals[0]
    assert "spike-rated" in comparator.design(line(kick_volts=90.0), REGISTER_INPUT).refusals[0]
    close = comparator.design(line(Span(9.0, 9.8), Span(10.0, 11.0)), REGISTER_INPUT)
    assert "move the tap" in close.refusals[0]
    unread = comparator.design(line(idle=None), REGISTER_INPUT)
    assert judged(unread, tap_design.LOW_LEVEL).verdict is Verdict.UNKNOWN
