"""Consoles on an emulated RP2040: every point with bounce, overlapping changes, times beside their predictions."""

from __future__ import annotations

from functools import cache
from random import Random

import pytest

from retrofit.scan.addresses import ConverterAddress
from tests.emulator.compared import compare
from tests.emulator.demos import Console, Spoil, console
from tests.emulator.harness import CYCLES_PER_US, run
from tests.emulator.midi_stream import decode
from tests.emulator.playing import clean_strokes, last_points, perform, play_everything, playable
from tests.emulator.quiet import quiet_scans, tick_times
from tests.emulator.rp2040.consoles import BOARD, drawn_job, on_this_board
from tests.plan.jobs import job_of, ladder, shoes

pytestmark = pytest.mark.emulator

INTERFACES = ("chain", "matrix", "pins", "multiplexer", "expander")
SEED = 7
MIXED = 6
"""A seed whose console uses the chain, a matrix and expanders."""


@cache
def drawn(*interfaces: str, seed: int = SEED) -> Console:
    """Return a console whose groups are read by these interfaces."""
    return console(drawn_job(seed, interfaces))


@pytest.mark.parametrize("interface", INTERFACES)
def test_every_point_is_heard_by_each_interface(interface: str) -> None:
    """Pressed and released with bounce, each point brings its message once, in time, and nothing else is heard."""
    played_on = drawn(interface)
    seen, verdict = perform(played_on, play_everything(played_on, Random(SEED)))
    assert played_on.plan.board == BOARD
    assert {group.interface for group in playable(played_on.plan).values()} == {interface}
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages == 2 * len(playable(played_on.plan)) > 0
    assert seen.problems == {}


def test_overlapping_changes_come_in_time() -> None:
    """On a console of mixed interfaces no message of a thousand overlapping changes is later than predicted, the worst
    press of every group on an idle wire reaches 80 % of its prediction, and the busy time is predicted within 5 %.
    """
    played_on = drawn(*INTERFACES, seed=MIXED)
    assert {group.interface for group in playable(played_on.plan).values()} == {"chain", "matrix", "expander"}
    repetitions = -(-1000 // (2 * len(playable(played_on.plan))))
    seen, verdict = perform(played_on, play_everything(played_on, Random(SEED), repetitions))
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages >= 1000
    assert seen.problems == {}
    _, timed = perform(played_on, clean_strokes(played_on, Random(SEED), last_points(played_on.plan), 20))
    assert compare("mixed", played_on, (verdict, timed)).kept


@pytest.mark.parametrize("interface", INTERFACES)
def test_the_longest_quiet_scan_is_predicted_within_5_percent(interface: str) -> None:
    """On a console that took no part in fitting the costs, the longest kind of tick is as long as predicted."""
    played_on = drawn(interface)
    measured, predicted = tick_times(played_on.plan, quiet_scans(played_on))
    longest = max(measured, key=measured.__getitem__)
    assert predicted[longest] == pytest.approx(measured[longest], rel=0.05)


WITH_SHOES = 4
"""A seed whose console has shoes on the converter."""


def test_a_shoe_reaches_both_ends() -> None:
    """Its last value at either end of the 12-bit converter's range is 0 or 127."""
    played_on = drawn("chain", seed=WITH_SHOES)
    shoe = next(each.point.id for each in played_on.plan.points if isinstance(each.address, ConverterAddress))
    at_us = played_on.listening_us
    positions = ((0, 0), (4095, 100_000), (0, 200_000))
    events = [played_on.stage.shoe_event(shoe, at_us + later, counts) for counts, later in positions]
    seen = run(played_on.stage.scenario(played_on.image.hex, at_us / 1000 + 300, events))
    heard = [message for message in decode(seen.midi).messages if message.begins > at_us * CYCLES_PER_US]
    values = [message.data[2] for message in heard if message.data[0] & 0xF0 == 0xB0]
    assert (max(values), values[-1]) == (127, 0)
    assert seen.problems == {}


@pytest.mark.parametrize("clocks", [1, 9])
def test_a_device_that_holds_the_data_wire_is_clocked_free(clocks: int) -> None:
    """NXP UM10204, bus clear: a device left in the middle of a byte lets go within nine clocks, and keys are heard."""
    played_on = drawn("expander")
    keys = playable(played_on.plan)
    key = next(each for each in played_on.plan.points if each.point.id in keys and each.point.note is not None)
    at = played_on.listening_us
    held = ((at + 20_000) * CYCLES_PER_US, "hold", clocks)
    pressed = played_on.stage.events(key.point.id, [(at + 150_000, True)])
    seen = run(played_on.stage.scenario(played_on.image.hex, at / 1000 + 200, [held, *pressed]))
    heard = [message.data for message in decode(seen.midi).messages if message.begins > at * CYCLES_PER_US]
    assert key.message is not None
    assert heard == [key.message.on]
    assert seen.problems == {}


def test_a_ladder_is_read_without_a_pull_up() -> None:
    """Its pin is freed as that of any shoe on the converter: a pull-up would bend the reading, and is reported."""
    played_on = console(on_this_board(job_of(shoes(ladder()))))
    seen = run(played_on.stage.scenario(played_on.image.hex, 20))
    assert seen.conversions > 0
    assert seen.problems == {}


@pytest.mark.parametrize(
    ("file", "text", "by", "words"),
    [
        ("chain.c", " | SPI_CR0_CLOCK_HIGH", "", "edgeRaces"),
        ("chain.c", "    IO_GPIO_CTRL(PIN_CHAIN_CLOCK) = FUNCTION_SPI;\n", "", "the clock is on no pin"),
        ("wire.c", "PADS_GPIO(PIN_MIDI_OUT) = PAD_MIDI_OUT;", "", "drives less than 12 mA"),
        ("wire.c", "#define BAUD 31250u", "#define BAUD 25000u", "baud rate is 25000"),
        ("board.c", " | RESET_SPI0", "", "SPI 0 is used while it is held in reset"),
        ("pins.c", " | PAD_PULL_UP", "", "float: no pull-up"),
    ],
)
def test_a_board_set_up_wrongly_is_noticed(file: str, text: str, by: str, words: str) -> None:
    """Wrong edge, clock on no pin, weak pin, wrong rate, block in reset, no pull-up: each one is named."""
    job = drawn_job(SEED, ("pins",) if file == "pins.c" else ("chain",))
    spoilt = console(job, (Spoil(file, text, by),))
    seen = run(spoilt.stage.scenario(spoilt.image.hex, 20))
    found = {**seen.problems, **{name: count for name, count in seen.chain.items() if count}}
    assert any(words in each for each in found), found
