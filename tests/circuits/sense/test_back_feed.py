"""Back-feed while our supply is off: the least of the allowances decides, state by state."""

from __future__ import annotations

import pytest

from retrofit.circuits.result import Span
from retrofit.circuits.sense.back_feed import back_feed_allowances, judge_back_feed
from retrofit.circuits.sense.design import Verdict
from retrofit.circuits.sense.line import Line
from tests.circuits.sense.taps import STIFF, line, swing


def off(idle_ua: float, keyed_ua: float) -> dict[str, tuple[float, str]]:
    """Return the currents of both states with our supply off."""
    return {"idle": (idle_ua * 1e-6, "corner"), "keyed": (keyed_ua * 1e-6, "corner")}


@pytest.mark.parametrize(
    ("of", "limit_ua", "reason"),
    [
        (line(keyed_amps=50e-3), 100, "most on any line"),
        (line(keyed_amps=1.2e-3), 60, "5% of the keyed current"),
        (line(keyed_amps=1.2e-3, keyed_ohms=Span(5e3, 20e3)), 26.25, "shifts the keyed line by 5%"),
        (line(keyed_amps=0.0), 100, "most on any line"),
    ],
)
def test_the_least_allowance_decides(of: Line, limit_ua: float, reason: str) -> None:
    """0.1 mA, 5 % of the keyed current or 5 % of 10.5 V behind the source (common practice, no source)."""
    figure = judge_back_feed(of, swing(of), off(0, limit_ua * 0.999))
    assert figure.result is not None
    assert figure.result.limit == pytest.approx(limit_ua)
    assert figure.result.passes
    assert reason in figure.result.corner
    assert judge_back_feed(of, swing(of), off(0, limit_ua * 1.001)).verdict is Verdict.FAILS


def test_either_direction_counts() -> None:
    """A current into the line is judged as one out of it."""
    of = line(keyed_amps=50e-3)
    assert judge_back_feed(of, swing(of), off(0, -101)).verdict is Verdict.FAILS


def test_each_state_is_held_to_its_own_source() -> None:
    """An idle gate line behind 100 kΩ allows 6.75 µA (5 % of 13.5 V) though the stiff keyed line allows 0.1 mA."""
    of = line(Span(-15.0, -13.5), STIFF, idle_ohms=Span(50e3, 100e3), keyed_amps=0.0)
    allowances, missing = back_feed_allowances(of, swing(of).idle, swing(of))
    assert min(allowances.values()) == pytest.approx(6.75e-6)
    assert missing == ()
    assert judge_back_feed(of, swing(of), off(6.7, 99)).verdict is Verdict.GOOD
    assert judge_back_feed(of, swing(of), off(6.8, 99)).verdict is Verdict.FAILS


def test_a_state_at_zero_volts_is_held_to_the_swing() -> None:
    """An idle line between −0.2 and 0.2 V has no volts of its own: 5 % of its least swing counts."""
    of = line(Span(-0.2, 0.2), Span(10.2, 15.0), idle_ohms=Span.exact(100e3), keyed_amps=0.0)
    allowances, _ = back_feed_allowances(of, swing(of).idle, swing(of))
    assert min(allowances.values()) == pytest.approx(0.05 * 10.0 / 100e3)


def test_unknown_unless_surely_too_much() -> None:
    """Without the keyed current or a source the figure is unknown, but more than 0.1 mA fails all the same."""
    for of in (line(keyed_amps=None), line(idle_ohms=None)):
        unknown = judge_back_feed(of, swing(of), off(1, 30))
        assert unknown.verdict is Verdict.UNKNOWN
        assert unknown.missing
        assert judge_back_feed(of, swing(of), off(1, 101)).verdict is Verdict.FAILS
