"""Choosing the tick, the dividers and the phases."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings

from retrofit.catalogue.load import load_catalogue
from retrofit.scan.allocate import lay_out
from retrofit.scan.busy import ScanWork
from retrofit.scan.period import TICKS_US, Pacing, choose_periods
from retrofit.scan.requests import GroupRequest
from tests.scan.requests import BOARD, consoles, group

COSTS = load_catalogue().firmware_costs["atmega2560"]


def pace(*requests: GroupRequest, wished: int | None = None, least: int = TICKS_US[0]) -> Pacing:
    """Return the pace of the requests on a chain of 1 MHz."""
    layout = lay_out(requests, BOARD, fixed={}, spi_hz=1_000_000).layout
    speed = {request.group: request.speed for request in requests}
    return choose_periods(layout, COSTS, BOARD.clock_hz, speed, wished_tick_us=wished, least_tick_us=least)


def test_a_small_console_gets_the_shortest_tick() -> None:
    """Eight direct contacts fit into half of 125 µs."""
    pacing = pace(group("keys", 8, "pins"))
    assert (pacing.tick_us, pacing.fits) == (125, True)
    assert pacing.period_us("keys") == 125


def test_the_tick_grows_with_the_chain() -> None:
    """At 1 MHz forty registers take at least 320 µs on the wire, so that the tick is 1 ms."""
    pacing = pace(group("keys", 320))
    assert pacing.busy.total_us > 320
    assert pacing.tick_us == 1000


def test_keys_every_tick_the_rest_within_two_milliseconds() -> None:
    """Pistons, tabs and stages are sampled every 2 ms whatever the tick."""
    pacing = pace(group("keys", 8), group("pistons", 8, speed=1), group("tabs", 8, speed=2))
    assert pacing.tick_us < 2000
    assert pacing.period_us("keys") == pacing.tick_us
    assert pacing.period_us("pistons") == pacing.period_us("tabs") == 2000


def test_slow_groups_are_spread_over_the_ticks() -> None:
    """Two equally long groups on matrices are not due in the same tick."""
    pacing = pace(group("keys", 8, "pins"), group("a", 64, "matrix", speed=2), group("b", 64, "matrix", speed=2))
    assert pacing.divider_log2["a"] > 0
    assert pacing.phase["a"] != pacing.phase["b"]


def test_a_wished_tick_is_kept() -> None:
    """A wished tick is taken even when a shorter one would do, and one that is too short is taken and said."""
    assert pace(group("keys", 8), wished=1000).tick_us == 1000
    short = pace(group("keys", 320), wished=250)
    assert (short.tick_us, short.fits) == (250, False)
    assert "allowed is half of the tick" in short.reason


def test_a_tick_that_is_no_tick_is_refused() -> None:
    """A tick that the firmware does not have is refused with those that it has."""
    with pytest.raises(ValueError, match="300 µs found, allowed are 125, 250, 500, 1000, 2000 µs"):
        pace(group("keys", 8), wished=300)


def test_a_floor_of_the_tick_is_kept() -> None:
    """A least tick is honoured; above the slowest tick the slowest stands."""
    assert pace(group("keys", 8), least=500).tick_us == 500
    assert pace(group("keys", 8), least=5000).tick_us == 2000


def test_a_console_that_is_too_slow_for_every_tick() -> None:
    """255 registers at 1 MHz need more than 2 ms: the slowest tick is returned, and that it does not fit."""
    pacing = pace(group("keys", 255 * 8))
    assert (pacing.tick_us, pacing.fits) == (2000, False)
    assert "use a second board" in pacing.reason


def test_an_empty_console() -> None:
    """Nothing to scan takes the shortest tick."""
    pacing = pace()
    assert (pacing.tick_us, pacing.divider_log2, pacing.phase) == (125, {}, {})


@settings(max_examples=40, deadline=None)
@given(consoles())
def test_the_chosen_tick_is_the_smallest_that_fits(requests: list[GroupRequest]) -> None:
    """The scan fits into half of the chosen tick, in no shorter one, and phases lie within their dividers."""
    pacing = pace(*requests)
    if pacing.fits:
        assert pacing.busy.total_us <= pacing.tick_us / 2
    else:
        assert pacing.tick_us == TICKS_US[-1]
    for shorter in TICKS_US[: TICKS_US.index(pacing.tick_us)]:
        assert not pace(*requests, wished=shorter).fits
    for name, divider in pacing.divider_log2.items():
        assert 0 <= pacing.phase[name] < 1 << divider
        assert divider <= 6
        assert pacing.period_us(name) <= 2000


@settings(max_examples=40, deadline=None)
@given(consoles(("chain",)))
def test_spreading_is_never_worse_than_all_at_once(requests: list[GroupRequest]) -> None:
    """The worst tick is at most that of all groups at once, each at a pace of its own."""
    pacing = pace(*requests)
    layout = lay_out(requests, BOARD, fixed={}, spi_hz=1_000_000).layout
    together = ScanWork(layout, COSTS, layout.spi_hz, BOARD.clock_hz)
    assert pacing.busy.total_us <= together.tick_us({run.group for run in layout.runs})


def test_dearer_firmware_lengthens_the_tick() -> None:
    """The tick follows from the costs of the firmware, not from the count of contacts."""
    layout = lay_out([group("keys", 8)], BOARD, fixed={}, spi_hz=1_000_000).layout
    dear = replace(COSTS, tick_base=COSTS.tick_base + 16 * 400)
    assert choose_periods(layout, dear, BOARD.clock_hz, {"keys": 0}).tick_us == 1000
