"""The offset divider: a worked example, chosen values against a reference with tolerance, refusals."""

from __future__ import annotations

import pytest

from retrofit.circuits.result import Span
from retrofit.circuits.sense import offset_divider, tap_design
from retrofit.circuits.sense.design import Verdict
from retrofit.circuits.sense.loading import SHIFT
from retrofit.circuits.sense.tap_network import line_amps, node_volts, worst_injection
from tests.circuits.sense.taps import REGISTER_INPUT, SCHMITT_3V3, STIFF, judged, line, network, result, swing

EXACT_3V3 = Span.exact(3.3)
BIASED = line(Span(-18.0, -14.0), STIFF, idle_ohms=STIFF, keyed_ohms=STIFF, keyed_amps=0.0)
KNOWN = {"rail_load_a": 20e-3, "organ_supply_ohms": 1.0}


@pytest.mark.parametrize(
    ("volts", "nominal", "least", "greatest"),
    [
        (-15.0, 0.250, 0.199, 0.301),
        (-14.0, 0.4167, 0.368, 0.465),
        (-18.0, -0.250, -0.310, -0.191),
        (0.0, 2.750, 2.741, 2.759),
    ],
)
def test_worked_levels(volts: float, nominal: float, least: float, greatest: float) -> None:
    """Ex 4: the levels of 1 MΩ from the line and 200 kΩ to 3.3 V, nominal and at 1 %."""
    assert node_volts(volts, 0, 1e6, 200e3, 3.3) == pytest.approx(nominal, abs=6e-5)
    found = [node_volts(volts, 0, 1e6 * a, 200e3 * b, 3.3) for a in (0.99, 1.01) for b in (0.99, 1.01)]
    assert (min(found), max(found)) == pytest.approx((least, greatest), abs=6e-4)


def test_worked_margins() -> None:
    """Ex 4: low margin 0.135 V or 4.1 %, failing at −14 V, 0.299 V at −15 V; high margin 0.541 V, good."""
    tap = network(1e6, 200e3, reference=EXACT_3V3)
    low = tap_design.judge_level(tap, swing(BIASED).low, high=False)
    high = tap_design.judge_level(tap, swing(BIASED).high, high=True)
    assert low.result is not None
    assert high.result is not None
    assert round(low.result.value, 1) == 4.1
    assert low.result.value / 100 * 3.3 == pytest.approx(0.135, abs=6e-4)
    assert high.result.value / 100 * 3.3 == pytest.approx(0.541, abs=6e-4)
    assert (low.verdict, high.verdict) == (Verdict.FAILS, Verdict.GOOD)
    at_15 = swing(line(Span.exact(-15.0), STIFF, idle_ohms=STIFF, keyed_ohms=STIFF)).low
    better = tap_design.judge_level(tap, at_15, high=False)
    assert better.result is not None
    assert better.result.value / 100 * 3.3 == pytest.approx(0.299, abs=6e-4)


def test_worked_load_and_clamp() -> None:
    """Ex 4: −15.25 µA at −15 V; at −18 V the clamp of the input is held to microamperes."""
    assert 1e6 * line_amps(-15, 0, 1e6, node_volts(-15, 0, 1e6, 200e3, 3.3)) == pytest.approx(-15.25)
    tap = network(1e6, 200e3, reference=EXACT_3V3)
    assert 0 < worst_injection(tap, Span(-18.0, 0.0), above=False)[0] < 2e-6


def test_worked_failures() -> None:
    """Ex 4: idle at −12 V gives 0.707 to 0.792 V and fails; a reference of 5 % lifts −15 V to 0.4385 V at worst."""
    ends = [node_volts(-12, 0, 1e6 * a, 200e3 * b, 3.3) for a in (0.99, 1.01) for b in (0.99, 1.01)]
    assert (min(ends), max(ends)) == pytest.approx((0.707, 0.792), abs=6e-4)
    idle = swing(line(Span.exact(-12.0), STIFF, idle_ohms=STIFF, keyed_ohms=STIFF)).low
    assert tap_design.judge_level(network(1e6, 200e3, reference=EXACT_3V3), idle, high=False).verdict is Verdict.FAILS
    assert node_volts(-15, 0, 1.01e6, 198e3, 1.05 * 3.3) == pytest.approx(0.4385, abs=6e-5)


@pytest.mark.parametrize(
    "of",
    [
        BIASED,
        line(Span(-12.5, -11.5), STIFF, keyed_amps=0.0),
        line(Span(-5.0, -4.0), Span(10.0, 12.0), keyed_amps=1e-3),
        line(Span(-0.5, 0.0), Span(-30.0, -26.0), keyed_amps=5e-3),
    ],
    ids=["biased", "biased 12 V", "bipolar", "positive ground"],
)
def test_chosen_pair_keeps_its_levels(of: object) -> None:
    """The chosen pair reads a biased, a bipolar and a negative line, and nothing fails."""
    found = offset_divider.design(of, SCHMITT_3V3, reference=EXACT_3V3, **KNOWN)  # type: ignore[arg-type]  # cases by name
    assert found.refusals == ()
    assert found.verdict in (Verdict.GOOD, Verdict.NARROW)
    assert result(found, tap_design.HIGH_LEVEL).passes
    assert result(found, tap_design.LOW_LEVEL).passes


def test_a_looser_reference_never_helps() -> None:
    """The margins of one tap fall as the tolerance of its reference grows."""
    margins = []
    for tolerance in (0.0, 0.01, 0.05):
        tap = network(1e6, 200e3, reference=Span.around(3.3, tolerance))
        figures = [tap_design.judge_level(tap, swing(BIASED).low, high=False).result]
        figures.append(tap_design.judge_level(tap, swing(BIASED).high, high=True).result)
        margins.append([figure.value for figure in figures if figure is not None])
    assert margins[0][0] > margins[1][0] > margins[2][0]
    assert margins[0][1] > margins[1][1] > margins[2][1]


def test_the_supply_as_reference_moves_with_the_limits() -> None:
    """With the supply itself as reference the high level keeps a better margin than with a separate 4.5 to 5.5 V."""
    own, apart = network(1e6, 470e3, reference=None, behind=REGISTER_INPUT), Span(4.5, 5.5)
    figures = [
        tap_design.judge_level(tap, swing(BIASED).high, high=True).result
        for tap in (own, network(1e6, 470e3, reference=apart, behind=REGISTER_INPUT))
    ]
    together, separate = (figure.value for figure in figures if figure is not None)
    assert together > separate


def test_refusals_and_unknowns() -> None:
    """Audio and kicks are refused, a line too small is sent to a comparator, unknown volts stay unknown."""
    audio = offset_divider.design(line(carries_audio=True), SCHMITT_3V3)
    kick = offset_divider.design(line(kick_volts=100.0), SCHMITT_3V3)
    small = offset_divider.design(line(Span(-2.0, -1.5), Span(-1.0, -0.5)), SCHMITT_3V3, reference=EXACT_3V3)
    assert "sound" in audio.refusals[0]
    assert "spike-rated" in kick.refusals[0]
    assert "comparator" in small.refusals[0]
    unknown = offset_divider.design(line(idle=None), SCHMITT_3V3)
    assert judged(unknown, tap_design.LOW_LEVEL).verdict is Verdict.UNKNOWN


def test_a_weak_bias_is_shifted_too_far() -> None:
    """A bias behind 220 kΩ moves by more than 5 % under any pair allowed, and the shift says so."""
    weak = line(Span(-15.5, -14.5), STIFF, idle_ohms=Span(200e3, 240e3), keyed_ohms=STIFF, keyed_amps=0.0)
    found = offset_divider.design(weak, SCHMITT_3V3, reference=EXACT_3V3, **KNOWN)
    shift = judged(found, f"{SHIFT}, idle")
    assert shift.verdict is Verdict.FAILS
    assert found.verdict is Verdict.FAILS
