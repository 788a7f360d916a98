"""The high-impedance divider: a worked example, the values it chooses, what it refuses and what it leaves unknown."""

from __future__ import annotations

from dataclasses import replace

import pytest
from eseries import E24, E96, erange

from retrofit.circuits.result import Span
from retrofit.circuits.sense import divider, tap_design
from retrofit.circuits.sense.back_feed import BACK_FEED
from retrofit.circuits.sense.dead_rail import choose_bleeder, dead_line_amps, dead_rail_volts
from retrofit.circuits.sense.design import Verdict
from retrofit.circuits.sense.line import Decay, Ripple
from retrofit.circuits.sense.loading import CURRENT, DECAY, SHIFT, SUPPLY, parallel_ohms
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.tap_choice import KICK
from retrofit.circuits.sense.tap_network import injected_amps, line_amps, node_volts, worst_line_amps
from tests.circuits.sense.taps import REGISTER_INPUT, SCHMITT_3V3, judged, line, network, result, swing

KNOWN = {"rail_load_a": 20e-3, "organ_supply_ohms": 0.679}


def test_worked_divider_levels() -> None:
    """Ex 3: 470 kΩ and 180 kΩ of 1 %: 2.866 V keyed (0.666 V, 20.2 %), 0.421 V idle (0.179 V, 5.4 %, narrow)."""
    assert node_volts(10.5, 0, 470e3 * 1.01, 180e3 * 0.99) == pytest.approx(2.866, abs=5e-4)
    assert node_volts(1.5, 0, 470e3 * 0.99, 180e3 * 1.01) == pytest.approx(0.421, abs=5e-4)
    states = swing(line(idle_ohms=Span.exact(0), keyed_ohms=Span.exact(0)))
    high = tap_design.judge_level(network(470e3, 180e3), states.high, high=True)
    low = tap_design.judge_level(network(470e3, 180e3), states.low, high=False)
    assert high.result is not None
    assert low.result is not None
    assert round(high.result.value, 1) == 20.2
    assert round(low.result.value, 1) == 5.4
    assert (high.verdict, low.verdict) == (Verdict.GOOD, Verdict.NARROW)
    assert high.result.corner.startswith("supply 3.3 V, line 10.5 V, series 475 kΩ, lower 178 kΩ")


def test_worked_divider_currents() -> None:
    """Ex 3: 4.355 V unclamped, 5.77 µA injected, 0.352 mA for 61 lines, 25.6 µA or 2.13 % of 1.2 mA from the line."""
    assert node_volts(15.5, 0, 470e3 * 0.99, 180e3 * 1.01) == pytest.approx(4.355, abs=5e-4)
    injected, taken = injected_amps(15.5, 465.3e3, 181.8e3, 0.0, 3.6), line_amps(15.5, 0, 465.3e3, 3.6)
    assert 1e6 * injected == pytest.approx(5.77, abs=5e-3)
    assert round(61e3 * injected, 3) == 0.352
    assert round(1e6 * taken, 1) == 25.6
    assert round(100 * taken / 1.2e-3, 2) == 2.13


def test_the_design_bounds_the_worked_clamp() -> None:
    """A clamp without forward volts takes a little more than the 0.3 V of Ex 3, never less."""
    tap, of = network(470e3, 180e3), line(idle_ohms=Span.exact(0), keyed_ohms=Span.exact(0))
    clamps = tap_design.judge_clamps(tap, swing(of), 61, 20e-3)
    assert 0.352 < result(clamps, tap_design.RAIL_CURRENT).value < 0.5
    assert 5.77e-3 < result(clamps, tap_design.CLAMP_CURRENT).value < 8.2e-3
    assert 25.6e-6 < worst_line_amps(tap, Span(10.5, 15.5), Span.exact(0))[0] < 26.3e-6
    share = result(tap_design.judge_tap(tap, of, swing(of), tap_design.Surroundings()), CURRENT)
    assert 2.13 < share.value < 2.2


def test_worked_divider_delay() -> None:
    """Ex 3: the 130.2 kΩ of both resistors with 30 pF have a time constant of 3.9 µs; an edge takes about as long."""
    ohms = parallel_ohms(470e3, 180e3)
    assert round(ohms / 1e3, 1) == 130.2
    assert round(ohms * 30e-12 * 1e6, 1) == 3.9
    states = swing(line(idle_ohms=Span.exact(0), keyed_ohms=Span.exact(0)))
    assert 3.9 < tap_design.edge_us(network(470e3, 180e3), states.idle, states.keyed) < 2 * 3.9


def test_worked_dead_rail() -> None:
    """Ex 3: 32.0 µA a line, 1.95 mA for 61, 1.95 V on 1 kΩ, 0.43 V on 220 Ω, which costs 15 mA and 50 mW alive."""
    amps = dead_line_amps(15.5, 465.3e3, 0.6)
    assert round(1e6 * amps, 1) == 32.0
    assert round(61e3 * amps, 2) == 1.95
    assert round(dead_rail_volts(61 * amps, 1e3), 2) == 1.95
    assert round(dead_rail_volts(61 * amps, 220), 2) == 0.43
    bleeder = choose_bleeder(61 * amps, Span.exact(3.3))
    assert bleeder is not None
    assert bleeder.part.value == 240
    assert dead_rail_volts(61 * amps, 1.05 * 240) <= bleeder.dead.limit < dead_rail_volts(61 * amps, 1.05 * 270)
    nominal = choose_bleeder(0.45 / 220, Span.exact(3.3), volts_below=0.5)
    assert nominal is not None
    assert nominal.part.value == 220
    assert round(nominal.alive_ma * 0.95) == 15
    assert round(nominal.alive_mw * 0.95, -1) == 50


@pytest.mark.parametrize("behind", [SCHMITT_3V3, REGISTER_INPUT], ids=["Schmitt", "74HC165"])
def test_the_chosen_pair_is_good_and_preferred(behind: LogicInput) -> None:
    """Both resistors are preferred values (package eseries, IEC 60063) and no level, clamp, load or delay fails."""
    found = divider.design(line(), behind, **KNOWN)
    assert found.verdict in (Verdict.GOOD, Verdict.NARROW)
    assert found.looks_only
    assert found.keyed_reads_high
    series, lower = found.parts[0].value, found.parts[1].value
    for value in (series, lower):
        assert value in list(erange(E24, 1e3, 1e7)) + list(erange(E96, 1e3, 1e7))
    assert "greatest series resistor" in found.remarks[0]


def test_a_greater_pair_than_the_chosen_one_fails() -> None:
    """On the register no E24 pair with a greater series resistor keeps both levels good (searched without window)."""
    chosen = divider.design(line(), REGISTER_INPUT, **KNOWN)
    states = swing(line())
    for series in (value for value in erange(E24, 10e3, 2.2e6) if value > chosen.parts[0].value):
        for lower in erange(E24, 10e3, 1e7):
            tap = network(series, lower, behind=REGISTER_INPUT)
            high = tap_design.judge_level(tap, states.high, high=True)
            low = tap_design.judge_level(tap, states.low, high=False)
            assert {high.verdict, low.verdict} != {Verdict.GOOD}


def test_a_line_keyed_to_its_return_reads_low_when_keyed() -> None:
    """A load to +12 V keyed to the return: idle high, keyed low."""
    found = divider.design(line(Span(10.5, 15.5), Span(0.0, 0.5), keyed_amps=50e-3), SCHMITT_3V3, **KNOWN)
    assert found.keyed_reads_high is False
    assert found.verdict in (Verdict.GOOD, Verdict.NARROW)


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"carries_audio": True}, "sound"),
        ({"kick_volts": 200.0}, "spike-rated"),
        ({"idle": Span(-18.0, -14.0), "keyed": Span.exact(0.0)}, "offset divider"),
        ({"idle": Span(-8.0, 0.0)}, "offset divider"),
        ({"idle": Span(0.0, 11.0)}, "overlap"),
        ({"idle": Span(7.0, 8.0), "keyed": Span(9.0, 10.0)}, "comparator"),
    ],
    ids=["audio", "kick", "negative", "partly negative", "overlap", "too close"],
)
def test_refusals_say_why(changed: dict[str, object], reason: str) -> None:
    """A line that must not be sensed so is refused with the reason, and no values are chosen."""
    found = divider.design(line(**changed), SCHMITT_3V3, **KNOWN)  # type: ignore[arg-type]  # cases by name
    assert found.verdict is Verdict.FAILS
    assert found.parts == ()
    assert reason in " ".join(found.refusals)


@pytest.mark.parametrize(
    ("changed", "criterion", "missing"),
    [
        ({"idle": None}, tap_design.LOW_LEVEL, "idle volts"),
        ({"keyed": None}, tap_design.HIGH_LEVEL, "keyed volts"),
        ({"keyed_ohms": None}, tap_design.HIGH_LEVEL, "source resistance of the line, keyed"),
        ({"idle_ohms": None}, f"{SHIFT}, idle", "source resistance of the line, idle"),
        ({"idle_ohms": None}, BACK_FEED, "source resistance of the line, idle"),
        ({"keyed_amps": None}, CURRENT, "current of the organ's own load"),
        ({"kick_volts": None}, KICK, "kicks"),
        ({"carries_audio": None}, "no sound on the line", "sound"),
    ],
)
def test_unknown_readings_leave_figures_unknown(changed: dict[str, object], criterion: str, missing: str) -> None:
    """What was not measured is asked for by name; nothing typical is put in its place."""
    found = divider.design(line(**changed), SCHMITT_3V3, **KNOWN)  # type: ignore[arg-type]  # cases by name
    figure = judged(found, criterion)
    assert figure.verdict is Verdict.UNKNOWN
    assert missing in figure.missing
    assert found.verdict is Verdict.UNKNOWN


def test_unknown_surroundings_leave_figures_unknown() -> None:
    """Our rail's least load and the organ's supply resistance are asked for, with what they would have to keep."""
    found = divider.design(line(), REGISTER_INPUT)
    assert "it must draw" in judged(found, tap_design.RAIL_CURRENT).missing
    assert "it may be up to" in judged(found, SUPPLY).missing


def test_a_decay_capacitor_delays_the_release() -> None:
    """Behind a decay capacitor its change is judged and the release delay grows by the time to the threshold."""
    plain = line()
    slow = replace(plain, decay=Decay(Span.exact(100e3), Span.exact(4.7e-6)))
    found = divider.design(slow, SCHMITT_3V3, **KNOWN)
    assert found.release_delay_us - divider.design(plain, SCHMITT_3V3, **KNOWN).release_delay_us > 300e3
    on_ua = found.felt.on_ua
    assert on_ua is not None
    input_ohms = 15.5 / (on_ua * 1e-6)
    assert result(found, DECAY).value == pytest.approx(100 / (1 + input_ohms / 100e3), rel=0.02)
    assert any("ms late" in remark for remark in found.remarks)


def test_a_decay_that_never_falls_far_enough_is_refused() -> None:
    """When the idle end of the decay lies above the input's threshold the release is never seen."""
    slow = replace(line(Span(3.0, 6.0)), decay=Decay(Span.exact(100e3), Span.exact(4.7e-6)))
    tap = network(470e3, 180e3)
    assert tap_design.press_and_release_us(tap, slow, swing(slow)) is None


def test_on_a_gappy_supply_the_peaks_count() -> None:
    """An unfiltered rectifier is judged at its peaks: the clamp current is that of 17 V, not of the mean."""
    rippled = replace(line(), ripple=Ripple(Span(15.0, 17.0), 50.0, full_wave=True))
    tap = network(470e3, 180e3)
    steady = tap_design.judge_clamps(tap, swing(line()), 1, 1e-3)[0].result
    peaks = tap_design.judge_clamps(tap, swing(rippled), 1, 1e-3)[0].result
    assert steady is not None
    assert peaks is not None
    assert peaks.value - steady.value == pytest.approx(1e3 * 1.5 / 465.3e3)


def test_an_input_without_clamp_gets_diodes() -> None:
    """Where the input has no clamp of its own two diodes are fitted and their leakage is counted."""
    bare = replace(SCHMITT_3V3, clamp=False)
    found = divider.design(line(), bare, **KNOWN)
    assert [part.kind for part in found.parts] == ["resistor", "resistor", "small silicon diodes"]
    assert found.parts[0].value < divider.design(line(), SCHMITT_3V3, **KNOWN).parts[0].value


def test_what_the_line_feels_is_in_order() -> None:
    """Off and short to ground take the most, on and short to the supply less: the rail holds the input up."""
    felt = divider.design(line(), REGISTER_INPUT, **KNOWN).felt
    assert felt.on_ua is not None
    assert felt.idle_ua is not None
    assert felt.off_ua is not None
    assert felt.open_ua is not None
    assert felt.shorted_ua is not None
    assert felt.shorted_rail_ua is not None
    assert 0 < felt.idle_ua < felt.on_ua == felt.shorted_rail_ua < felt.off_ua == felt.shorted_ua
    assert abs(felt.open_ua) <= felt.shorted_ua


def test_a_floating_idle_line_is_read_low_and_not_shifted() -> None:
    """A line that floats when idle has no volts to shift, and the divider itself holds the input low."""
    floating = line(Span.exact(0.0), idle_ohms=Span.exact(float("inf")))
    found = divider.design(floating, REGISTER_INPUT, **KNOWN)
    assert judged(found, tap_design.LOW_LEVEL).verdict is Verdict.GOOD
    assert [figure.criterion for figure in found.judged if figure.criterion.startswith(SHIFT)] == [f"{SHIFT}, keyed"]
