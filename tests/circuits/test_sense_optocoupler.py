"""Optocoupler inputs: worked examples, application notes, choice of values, refusals and what stays unknown."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.catalogue.isolators import load_optocouplers, load_zeners
from retrofit.circuits.eseries_values import Series, nearest
from retrofit.circuits.result import Span
from retrofit.circuits.sense.design import Verdict
from retrofit.circuits.sense.driven import driven
from retrofit.circuits.sense.line import Decay, Ripple
from retrofit.circuits.sense.opto_choice import OptoValues, idle_collector_amps, off_state_amps
from retrofit.circuits.sense.opto_judge import judge_network, resistor_watts
from retrofit.circuits.sense.opto_network import led_amps, needed_amps
from retrofit.circuits.sense.optocoupler import design
from tests.circuits.sense_cases import (
    MAGNET_LINE,
    REGISTER_INPUT,
    judged,
    logic_at,
    sharp_network,
    without,
)

OVERDRIVE = "overdrive of the optocoupler at the end of its life"
OFF_STATE = "line volts at which the output must stay off"
EXAMPLE_LOGIC = logic_at(Span.around(3.3, 0.05), vil=0.3, vih=0.7)
EXAMPLE_LINE = replace(MAGNET_LINE, keyed_ohms=Span.exact(0.0))


def test_worked_example_without_threshold() -> None:
    """Ex 1: IF 1.844 to 3.247 mA, need 0.1467 mA, overdrive 2.64, 47.1 mW; idle 0.112 mA × 6 against 0.0407 mA."""
    circuit = sharp_network(zener=None, pull_up_ohms=22e3)
    drive = driven(EXAMPLE_LINE)
    assert drive is not None
    assert round(1e3 * led_amps(10.5, 0, 4935, 0, 1.4), 3) == 1.844
    assert round(1e3 * circuit.line_amps_most(15.5), 3) == 3.247
    assert round(1e3 * needed_amps(3.465, 20900, 0), 4) == 0.1467
    assert round(1e3 * resistor_watts(circuit, drive), 1) == 47.1
    idle_ma = 1e3 * circuit.led_amps_most(1.5, circuit.bypass_span.greatest)
    assert round(idle_ma, 3) == 0.112
    assert round(6 * idle_ma, 3) == 0.672
    assert round(1e3 * idle_collector_amps(circuit, EXAMPLE_LOGIC), 4) == 0.0407
    found = {entry.criterion: entry for entry in judge_network(circuit, drive, EXAMPLE_LOGIC, 0.0)}
    overdrive, off = found[OVERDRIVE].result, found[OFF_STATE].result
    assert overdrive is not None
    assert off is not None
    assert round(overdrive.value, 2) == 2.64
    assert overdrive.passes
    assert not off.passes


def test_worked_example_with_threshold() -> None:
    """Ex 2: IF 0.758 to 2.161 mA, need 0.0686 mA, overdrive 2.32, onset 5.85 V, 19.1 µA, 1.6 µA, 20.9 and 10.5 mW."""
    circuit = sharp_network(zener=Span(4.85, 5.36), pull_up_ohms=47e3)
    drive = driven(EXAMPLE_LINE)
    assert drive is not None
    assert round(1e3 * led_amps(10.5, 0, 4935, 5.36, 1.4), 3) == 0.758
    most = circuit.line_amps_most(15.5)
    assert round(1e3 * most, 3) == 2.161
    assert round(1e3 * 61 * most, 1) == 131.8
    assert round(1e3 * needed_amps(3.465, 44650, 0), 4) == 0.0686
    assert round(1e3 * resistor_watts(circuit, drive), 1) == 20.9
    assert round(1e3 * most * circuit.threshold.volts.least, 1) == 10.5
    assert round(1e6 * idle_collector_amps(circuit, EXAMPLE_LOGIC), 1) == 19.1
    allowed = off_state_amps(circuit, EXAMPLE_LOGIC)
    assert allowed is not None
    assert round(1e6 * allowed, 1) == 1.6
    found = {entry.criterion: entry for entry in judge_network(circuit, drive, EXAMPLE_LOGIC, 0.0)}
    overdrive, off = found[OVERDRIVE].result, found[OFF_STATE].result
    assert overdrive is not None
    assert off is not None
    assert round(overdrive.value, 2) == 2.32
    assert round(off.limit, 2) == 5.86  # the onset of 5.85 V and 1.6 µA through 4465 Ω
    assert round(circuit.idle_volts_allowed(1e-12), 2) == 5.85
    assert off.passes


def test_loading_of_the_worked_example() -> None:
    """Ex 2: 2.161 mA are 3.6 % of a 60 mA magnet and 180 % of a 1.2 mA keyer."""
    most = sharp_network(zener=Span(4.85, 5.36), pull_up_ohms=47e3).line_amps_most(15.5)
    assert round(100 * most / 60e-3, 1) == 3.6
    assert round(100 * most / 1.2e-3) == 180


@pytest.mark.parametrize(
    ("ratio", "led_ma", "load_a", "pull_up_ohms"), [(0.55, 5.0, 0.0, 1672.7), (0.072, 2.0, 50e-6, 48936.0)]
)
def test_pull_up_of_the_application_note(ratio: float, led_ma: float, load_a: float, pull_up_ohms: float) -> None:
    """Vishay application note 45 (83706), problems 1 and 2: RL = (VCC − VOL)/(CTR·IF − IL), 5 V and 0.4 V."""
    assert needed_amps(5.0, pull_up_ohms, load_a) == pytest.approx(ratio * led_ma * 1e-3, rel=1e-4)


def test_led_resistor_of_the_application_note() -> None:
    """Vishay document 83725: 12 V, VF 1.7 V and 468 Ω give 22 mA, of which 15 % pull 1 kΩ at 3.3 V low."""
    amps = led_amps(12.0, 0.0, 468.2, 0.0, 1.7)
    assert round(1e3 * amps, 1) == 22.0
    assert 0.15 * amps == pytest.approx(3.3 / 1e3, rel=1e-3)


def test_chosen_values_pass_and_are_preferred() -> None:
    """On a magnet line with 1.5 V of residue values of series E24 are found that pass every figure of the circuit."""
    found = design(MAGNET_LINE, REGISTER_INPUT, organ_supply_ohms=0.5)
    resistors = [part for part in found.parts if part.kind == "resistor"]
    assert found.verdict is Verdict.NARROW
    assert all(entry.verdict is not Verdict.FAILS for entry in found.judged)
    assert all(nearest(Series.E24, part.value) == part.value for part in resistors)
    assert any(part.kind.startswith("zener") for part in found.parts)
    assert found.keyed_reads_high is False
    assert found.looks_only


def test_without_threshold_the_residue_lights_the_led() -> None:
    """With the zener left out the same line fails its off state."""
    plain = design(MAGNET_LINE, REGISTER_INPUT, values=OptoValues(6.8e3, None, None, 47e3))
    assert judged(plain, OFF_STATE).verdict is Verdict.FAILS
    assert judged(design(MAGNET_LINE, REGISTER_INPUT), OFF_STATE).verdict is Verdict.GOOD


def test_a_soft_knee_counts() -> None:
    """A 5.1 V zener of the catalogue is believed dark far below its printed voltage only."""
    values = OptoValues(4.7e3, load_zeners()["bzx79-c5v1"], None, 47e3)
    off = judged(design(MAGNET_LINE, REGISTER_INPUT, values=values), OFF_STATE).result
    assert off is not None
    assert 1.0 < off.limit < 2.0


def test_a_load_too_small_for_it() -> None:
    """On a keyer line of 1.2 mA the loading fails."""
    found = design(replace(MAGNET_LINE, keyed_amps=1.2e-3), REGISTER_INPUT)
    assert judged(found, "current taken from the line").verdict is Verdict.FAILS


@pytest.mark.parametrize(
    ("name", "criterion"),
    [
        ("keyed_volts", "optocoupler input"),
        ("idle_volts", OFF_STATE),
        ("keyed_ohms", OVERDRIVE),
        ("keyed_amps", "current taken from the line"),
        ("kick_volts", "voltage rating of the series resistor"),
        ("carries_audio", "no sound on the line"),
    ],
)
def test_what_was_not_measured_stays_unknown(name: str, criterion: str) -> None:
    """Each missing reading leaves its figure unknown, in words, and the design with it."""
    line = without(replace(MAGNET_LINE, keyed_amps=0.2), name)
    found = design(line, REGISTER_INPUT, organ_supply_ohms=0.5)
    assert judged(found, criterion).verdict is Verdict.UNKNOWN
    assert judged(found, criterion).missing
    assert found.verdict is Verdict.UNKNOWN


def test_an_unprinted_transfer_ratio_is_unknown() -> None:
    """The data sheet of the 4N35 prints no greatest transfer ratio, so its off state is not judged."""
    found = design(MAGNET_LINE, REGISTER_INPUT, coupler=load_optocouplers()["4n35"])
    assert "4N35" in judged(found, OFF_STATE).missing


def test_sound_is_refused() -> None:
    """A contact that carries sound is refused with the reason."""
    found = design(replace(MAGNET_LINE, carries_audio=True), REGISTER_INPUT)
    assert found.verdict is Verdict.FAILS
    assert "carries sound" in found.refusals[0]


def test_too_few_volts_are_refused() -> None:
    """A line of 1.2 V cannot drive an LED of up to 1.4 V."""
    found = design(replace(MAGNET_LINE, keyed_volts=Span(1.1, 1.2), idle_volts=Span.exact(0.0)), REGISTER_INPUT)
    assert "too few" in found.refusals[0]
    assert found.parts == ()


def test_a_line_that_rests_at_the_supply_reads_the_other_way() -> None:
    """Keyed to return with the load to the supply: the idle line lights the LED and keyed reads high."""
    line = replace(MAGNET_LINE, idle_volts=Span(10.5, 15.5), keyed_volts=Span(0.0, 0.2))
    found = design(line, REGISTER_INPUT)
    assert found.keyed_reads_high is True
    assert found.felt.idle_ua is not None
    assert found.felt.on_ua is not None
    assert found.felt.idle_ua > 1000
    assert found.felt.on_ua < 10


def test_negative_lines_are_turned_round() -> None:
    """A line of a positive-ground console takes the same values as its mirror image."""
    negative = replace(MAGNET_LINE, idle_volts=Span(-1.5, 0.0), keyed_volts=Span(-15.5, -10.5))
    assert design(negative, REGISTER_INPUT).parts == design(MAGNET_LINE, REGISTER_INPUT).parts


@pytest.mark.parametrize(("kick", "idle_least", "expected"), [(0.0, 0.0, False), (100.0, 0.0, True), (0.0, -3.0, True)])
def test_a_diode_guards_the_led_where_the_line_reverses(kick: float, idle_least: float, expected: bool) -> None:
    """A kick or a negative idle line brings the diode across the LED, and a warning about the return lead."""
    line = replace(MAGNET_LINE, kick_volts=kick, idle_volts=Span(idle_least, 1.5))
    found = design(line, REGISTER_INPUT)
    assert any(part.kind.startswith("diode") for part in found.parts) is expected
    assert any("return lead" in remark for remark in found.remarks) is expected
    assert bool(found.felt.open_ua) is expected


def test_a_coupler_for_both_directions_needs_no_diode_but_two_zeners() -> None:
    """With LEDs both ways the zeners stand back to back and the negative idle volts count for the off state."""
    line = replace(MAGNET_LINE, idle_volts=Span(-3.0, 0.0))
    values = OptoValues(2.2e3, load_zeners()["bzx79-c5v1"], None, 47e3)
    found = design(line, REGISTER_INPUT, coupler=load_optocouplers()["tlp290"], values=values)
    assert not any(part.kind.startswith("diode") for part in found.parts)
    assert any("back to back" in part.kind for part in found.parts)
    off = judged(found, OFF_STATE).result
    assert off is not None
    assert off.value == 3.0


def test_a_strong_kick_wants_a_resistor_rated_for_it() -> None:
    """300 V × 1.5 need the 500 V size; 400 V × 1.5 need more than any size bears."""
    name = "voltage rating of the series resistor"
    bearable = design(replace(MAGNET_LINE, kick_volts=300.0), REGISTER_INPUT)
    assert judged(bearable, name).verdict is Verdict.GOOD
    assert bearable.parts[0].rating == "1 W, 500 V"
    assert judged(design(replace(MAGNET_LINE, kick_volts=400.0), REGISTER_INPUT), name).verdict is Verdict.FAILS


def test_a_decay_capacitor_is_loaded_and_delays_the_release() -> None:
    """A coupler across 4.7 µF and 100 kΩ shortens the decay beyond the limit, and the note ends late."""
    line = replace(MAGNET_LINE, decay=Decay(Span.exact(100e3), Span.exact(4.7e-6)), idle_volts=Span.exact(0.0))
    found, plain = design(line, REGISTER_INPUT), design(replace(line, decay=None), REGISTER_INPUT)
    assert judged(found, "change of the line's decay").verdict is Verdict.FAILS
    assert found.release_delay_us > plain.release_delay_us + 100e3


def test_an_unfiltered_supply_is_refused_until_bridged() -> None:
    """The gaps between half waves refuse the bare circuit; bridged, it states how long they are."""
    line = replace(MAGNET_LINE, ripple=Ripple(Span.exact(15.57), 50.0, full_wave=True))
    assert "half waves" in design(line, REGISTER_INPUT).refusals[0]
    bridged = design(line, REGISTER_INPUT, bridged=True)
    assert bridged.refusals == ()
    assert 1000 < bridged.gap_us < 10_000


def test_an_alternating_line_takes_a_coupler_for_both_directions() -> None:
    """A lamp line on alternating current is refused until its peaks are known, and then read both ways."""
    bare = replace(MAGNET_LINE, keyed_volts=Span(-17.0, 17.0), idle_volts=Span.exact(0.0))
    assert "peaks" in design(bare, REGISTER_INPUT).refusals[0]
    known = replace(bare, ripple=Ripple(Span(15.0, 19.0), 50.0, full_wave=True))
    found = design(known, REGISTER_INPUT, bridged=True)
    assert found.refusals == ()
    assert any(part.kind == "optocoupler TLP290" for part in found.parts)


def test_release_grows_with_the_pull_up() -> None:
    """At 3.3 kΩ the release is 22 µs (Vishay application note 45, table 1) times the spread of the printed times."""
    delays = [
        design(MAGNET_LINE, REGISTER_INPUT, values=OptoValues(4.7e3, None, None, ohms)).release_delay_us
        for ohms in (3.3e3, 33e3)
    ]
    assert delays[0] == pytest.approx(22 * 18 / 3 * 1.05, rel=0.01)
    assert delays[1] == pytest.approx(10 * delays[0])


@given(st.floats(0, 0.15), st.floats(0, 0.15), st.floats(0.5, 5))
def test_more_tolerance_never_improves_a_margin(one: float, other: float, idle: float) -> None:
    """Widening the resistors never improves overdrive, off state or load."""
    values = OptoValues(4.7e3, load_zeners()["bzx79-c5v1"], 10e3, 47e3)
    line = replace(MAGNET_LINE, idle_volts=Span(0.0, idle))
    narrow, wide = (
        design(line, REGISTER_INPUT, values=values, tolerance=tolerance) for tolerance in sorted((one, other))
    )
    for tight, loose in zip(narrow.judged, wide.judged, strict=True):
        assert tight.criterion == loose.criterion
        if tight.result is not None and loose.result is not None and tight.criterion != "heat in the series resistor":
            assert loose.result.margin <= tight.result.margin + 1e-9


@given(st.floats(1, 100), st.floats(6, 30))
def test_scaling_every_resistance_scales_the_current_inversely(factor: float, volts: float) -> None:
    """With sharp parts ten times the resistance carries a tenth of the current."""
    circuit = sharp_network(zener=Span(4.85, 5.36), pull_up_ohms=47e3)
    series = Span(factor * circuit.series.least, factor * circuit.series.greatest)
    scaled = replace(circuit, series=series, bypass=None)
    assert factor * scaled.line_amps_most(volts) == pytest.approx(circuit.line_amps_most(volts), abs=1e-9)
    assert factor * led_amps(volts, 0, factor * 5e3, 5, 1) == pytest.approx(led_amps(volts, 0, 5e3, 5, 1))


@given(st.floats(1, 40), st.floats(0, 0.6), st.floats(0, 1), st.floats(0, 500))
def test_whatever_is_chosen_drives_the_led(least: float, spread: float, residue: float, source_ohms: float) -> None:
    """On any line the chosen values keep the overdrive wanted, or the circuit is refused and has no parts."""
    line = replace(
        MAGNET_LINE,
        keyed_volts=Span(least, least * (1 + spread)),
        idle_volts=Span(0.0, residue * least / 2),
        keyed_ohms=Span(0.0, source_ohms),
    )
    found = design(line, REGISTER_INPUT)
    if found.refusals:
        assert found.parts == ()
        assert least < 6
    else:
        assert judged(found, OVERDRIVE).verdict is not Verdict.FAILS
