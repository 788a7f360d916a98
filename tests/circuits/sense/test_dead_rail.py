"""Our rail while our supply is off: volts from held lines, the bleeder, and what it costs alive."""

from __future__ import annotations

import pytest
from eseries import E24, find_less_than_or_equal
from hypothesis import given
from hypothesis import strategies as st

from retrofit.circuits.result import Span
from retrofit.circuits.sense.dead_rail import (
    DEAD_RAIL_VOLTS,
    choose_bleeder,
    dead_line_amps,
    dead_rail_volts,
    judge_dead_rail,
)
from retrofit.circuits.sense.design import Verdict


@given(st.floats(1e-4, 20e-3))
def test_the_bleeder_is_the_greatest_that_keeps_the_rail_down(amps: float) -> None:
    """Package eseries: the greatest E24 value whose +5 % still stays below the level; its worst case is stated."""
    bleeder = choose_bleeder(amps, Span(4.5, 5.5))
    assert bleeder is not None
    wanted = DEAD_RAIL_VOLTS / amps / 1.05
    assert bleeder.part.value == pytest.approx(find_less_than_or_equal(E24, wanted * (1 + 1e-9)), rel=1e-6)
    assert bleeder.dead.passes
    assert bleeder.dead.value == pytest.approx(amps * bleeder.part.value * 1.05)


def test_cost_alive_is_at_the_greatest_supply() -> None:
    """A bleeder of 240 Ω at 5.5 V and −5 % takes 24.1 mA and 133 mW, and is rated for twice that."""
    bleeder = choose_bleeder(1.95e-3, Span(4.5, 5.5))
    assert bleeder is not None
    assert bleeder.part.value == 240
    assert bleeder.alive_ma == pytest.approx(5.5 / 228 * 1e3)
    assert bleeder.alive_mw == pytest.approx(5.5**2 / 228 * 1e3)
    assert bleeder.part.rating.startswith("0.5 W")


def test_no_bleeder_where_none_is_needed() -> None:
    """Nothing flows, or what hangs on the rail already holds it down."""
    assert choose_bleeder(0.0, Span.exact(5.0)) is None
    assert choose_bleeder(1e-3, Span.exact(5.0), load_ohms=400.0) is None
    helped = choose_bleeder(1e-3, Span.exact(5.0), load_ohms=1000.0)
    alone = choose_bleeder(1e-3, Span.exact(5.0))
    assert helped is not None
    assert alone is not None
    assert helped.part.value > alone.part.value


def test_a_line_below_the_clamp_feeds_nothing() -> None:
    """A line that never rises above the clamp's forward volts cannot feed the rail."""
    assert dead_line_amps(-5.0, 100e3) == 0.0
    assert dead_line_amps(0.2, 100e3, 0.3) == 0.0
    assert dead_line_amps(12.3, 100e3, 0.3) == pytest.approx(120e-6)


def test_the_dead_rail_is_judged() -> None:
    """1.95 mA on 1 kΩ fails, on 220 Ω passes, on an unknown load stays unknown; no current needs no load."""
    assert judge_dead_rail(1.95e-3, 1e3).verdict is Verdict.FAILS
    assert judge_dead_rail(1.95e-3, 220).verdict is Verdict.GOOD
    assert judge_dead_rail(1.95e-3, None).verdict is Verdict.UNKNOWN
    assert judge_dead_rail(0.0, None).verdict is Verdict.GOOD
    assert dead_rail_volts(2e-3, 100.0) == pytest.approx(0.2)
