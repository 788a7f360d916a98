"""The larger demo job, whole, on the emulated RP2040 with both outlets: 409 points with bounce, and their times."""

from __future__ import annotations

from functools import cache
from random import Random

import pytest

from retrofit.survey.job import Job
from tests.emulator.both_outlets import by_usb, by_wire, with_both
from tests.emulator.compared import compare
from tests.emulator.demos import Console, console, prompt_job
from tests.emulator.harness import Seen, cycles
from tests.emulator.playing import clean_strokes, last_points, perform, play_everything, playable
from tests.emulator.proof import Verdict
from tests.emulator.rp2040.consoles import BOARD, on_this_board

pytestmark = pytest.mark.emulator

SEED = 7
STROKES = 10
"""Of each group's last point: a change may fall anywhere in a sampling period, and few strokes miss its far end."""
STACK_TOP, STACK_BYTES = 0x20042000, 2048
"""Where the stack begins (RP2040 data sheet, memory map: the end of SRAM 5), and how much the linker leaves to it."""


def job() -> Job:
    """Return the demo with another board; all else is the job's own."""
    return on_this_board(prompt_job("theatre"))


@cache
def theatre() -> Console:
    """Return its console with both outlets."""
    return console(with_both(job()))


@cache
def performed() -> tuple[Seen, Verdict]:
    """Press and release every point once, with bounce, overlapping."""
    return perform(theatre(), play_everything(theatre(), Random(SEED)))


def test_every_point_is_heard_on_the_wire_and_by_usb() -> None:
    """Each press and release leaves the wire once and in time, and the computer is sent the same in the same order."""
    seen, verdict = performed()
    assert theatre().plan.board == BOARD
    assert verdict.sound, verdict.report()
    assert verdict.changes == verdict.messages == 2 * len(playable(theatre().plan)) == 818
    wire, usb = by_wire(theatre(), seen), by_usb(theatre(), seen)
    assert [each.data for each in usb] == [each.data for each in wire]
    assert max(packet.ends - message.ends for message, packet in zip(wire, usb, strict=True)) <= cycles(ms=2)
    assert seen.problems == {}


def test_the_stack_stays_in_its_place() -> None:
    """At its deepest in the performance it leaves a quarter of its two kilobytes."""
    seen, _ = performed()
    assert STACK_TOP - seen.lowest_stack <= STACK_BYTES * 3 // 4


def test_busy_time_and_latencies_are_as_predicted() -> None:
    """By the wire alone, as the job has it: the longest quiet tick is as long as predicted within 5 %, and the worst
    press of each group on an idle wire lies between 80 and 100 % of its prediction.
    """
    by_wire_alone = console(job())
    strokes = clean_strokes(by_wire_alone, Random(SEED), last_points(by_wire_alone.plan), STROKES)
    _, timed = perform(by_wire_alone, strokes)
    assert set(timed.latencies) == {group.id for group in playable(by_wire_alone.plan).values()}
    assert compare("theatre", by_wire_alone, (timed,)).kept
