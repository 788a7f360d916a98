"""Consoles read by one interface alone and by all of them: every point with bounce, overlaps, and parts that fail."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import ceil
from random import Random

import pytest

from retrofit.catalogue.load import load_catalogue
from retrofit.scan.addresses import ExpanderAddress
from retrofit.scan.bus_round import bus_round
from tests.emulator.compared import compare
from tests.emulator.demos import Console, Spoil, console
from tests.emulator.harness import CLOCK_HZ, CYCLES_PER_US, run
from tests.emulator.midi_stream import decode
from tests.emulator.playing import clean_strokes, last_points, perform, play_everything, playable
from tests.emulator.random_jobs import random_job

pytestmark = pytest.mark.emulator

INTERFACES = ("chain", "matrix", "pins", "multiplexer", "expander")
SEED = 7
ALL_FIVE = 45
"""A seed whose console uses every interface."""
TWO_EXPANDERS = 10
"""A seed whose console of expanders has two of them."""


@cache
def drawn(*interfaces: str) -> Console:
    """Return a console whose groups are read by these interfaces."""
    return console(random_job(SEED, interfaces))


@pytest.mark.parametrize("interface", INTERFACES)
def test_every_point_is_heard_by_each_interface(interface: str) -> None:
    """Pressed and released with bounce, each point brings its message once, in time, and nothing else is heard."""
    played_on = drawn(interface)
    seen, verdict = perform(played_on, play_everything(played_on, Random(SEED)))
    assert {group.interface for group in playable(played_on.plan).values()} == {interface}
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages == 2 * len(playable(played_on.plan)) > 0
    assert seen.problems == {}


def test_a_thousand_overlapping_changes_come_in_time() -> None:
    """On a console of mixed interfaces no message of a thousand changes that overlap is later than predicted, and the
    worst press of every group on an idle wire reaches 80 % of its prediction.
    """
    played_on = console(random_job(ALL_FIVE, INTERFACES))
    assert {group.interface for group in playable(played_on.plan).values()} == set(INTERFACES)
    repetitions = -(-1000 // (2 * len(playable(played_on.plan))))
    seen, verdict = perform(played_on, play_everything(played_on, Random(SEED), repetitions))
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages >= 1000
    assert seen.problems == {}
    _, timed = perform(played_on, clean_strokes(played_on, Random(SEED), last_points(played_on.plan), 30))
    found = compare("mixed", played_on, (verdict, timed))
    assert found.kept, found


def test_the_round_of_the_bus_is_the_predicted_one() -> None:
    """Reading two expanders takes what the plan says within 5 %, and the scans that fall into it on top."""
    played_on = console(random_job(TWO_EXPANDERS, ("expander",)))
    plan = played_on.plan
    bus = bus_round(plan.layout, load_catalogue().firmware_costs[plan.board], CLOCK_HZ)
    assert bus is not None
    assert plan.layout.expanders == (1, 2)
    seen = run(played_on.stage.scenario(played_on.image.hex, played_on.listening_us / 1000 + 500))
    taken_us = [(end - begin) / CYCLES_PER_US for begin, end in seen.bus["rounds"][-100:]]
    scans_us = ceil(bus.round_us / plan.tick_us) * plan.busy_us
    assert len(taken_us) == 100
    assert 0.95 * bus.round_us <= min(taken_us) <= max(taken_us) <= 1.05 * bus.round_us + scans_us


def test_a_missing_wait_is_heard() -> None:
    """Firmware that reads the commons without waiting hears the input before: the comparison and the model notice."""
    spoil = Spoil("banks.c", "    port_wait_us(flash_read_byte(&bank->settle_us));\n", "")
    spoilt = console(random_job(SEED, ("multiplexer",)), (spoil,))
    seen, verdict = perform(spoilt, play_everything(spoilt, Random(SEED)))
    assert not verdict.sound or any("wait was too short" in words for words in seen.problems)


def test_an_expander_that_goes_away_silences_itself_alone() -> None:
    """Its held key is released; the others are read on; once it is back its key is heard again."""
    played_on = console(random_job(TWO_EXPANDERS, ("expander",)))
    away, stays = _one_point_of_each(played_on, (1, 2))
    at = played_on.listening_us
    stage, number = played_on.stage, 0
    plugged = [((at + 60_000) * CYCLES_PER_US, "plug", number, 0), ((at + 240_000) * CYCLES_PER_US, "plug", number, 1)]
    events = [*stage.events(away, [(at + 20_000, True)]), *plugged, *stage.events(stays, [(at + 150_000, True)])]
    scenario = stage.scenario(played_on.image.hex, at / 1000 + 330, events)
    seen = run(replace(scenario, events=tuple(sorted(scenario.events, key=lambda event: event[0]))))
    heard = [message.data for message in decode(seen.midi).messages if message.begins > at * CYCLES_PER_US]
    messages = {each.point.id: each.message for each in played_on.plan.points}
    gone, kept = messages[away], messages[stays]
    assert gone is not None
    assert kept is not None
    assert heard == [gone.on, gone.off, kept.on, gone.on]
    assert seen.bus["refused"] > 10
    assert seen.problems == {}


@pytest.mark.parametrize("clocks", [1, 9])
def test_a_device_that_holds_the_data_wire_is_clocked_free(clocks: int) -> None:
    """NXP UM10204, bus clear: a device left in the middle of a byte lets go within nine clocks, and keys are heard."""
    played_on = console(random_job(TWO_EXPANDERS, ("expander",)))
    first, second = _one_point_of_each(played_on, (1, 2))
    at, stage = played_on.listening_us, played_on.stage
    held = ((at + 20_000) * CYCLES_PER_US, "hold", clocks)
    events = [held, *stage.events(first, [(at + 150_000, True)]), *stage.events(second, [(at + 180_000, True)])]
    seen = run(stage.scenario(played_on.image.hex, at / 1000 + 230, events))
    heard = [message.data for message in decode(seen.midi).messages if message.begins > at * CYCLES_PER_US]
    messages = {each.point.id: each.message for each in played_on.plan.points}
    assert heard == [message.on for point in (first, second) if (message := messages[point]) is not None]
    assert seen.problems == {}


def _one_point_of_each(played_on: Console, expanders: tuple[int, ...]) -> list[str]:
    """Return a key on each of these expanders."""
    found: dict[int, str] = {}
    keys = playable(played_on.plan)
    for each in played_on.plan.points:
        if isinstance(each.address, ExpanderAddress) and each.point.id in keys and each.point.note is not None:
            found.setdefault(each.address.expander, each.point.id)
    return [found[expander] for expander in expanders]
