"""A whole console on the ATmega32U4 with both outlets, its computer draining and not: the wire never notices."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from random import Random

import pytest

from retrofit.survey.points import PointKind
from tests.emulator.bench_scans import SCAN_BEGINS
from tests.emulator.both_outlets import by_usb, by_wire, with_both
from tests.emulator.demos import Console, console
from tests.emulator.harness import CYCLES_PER_US, Seen, cycles, run
from tests.emulator.playing import LATE_TICK_US, Performance, play_everything, playable, verdict
from tests.emulator.proof import Fault
from tests.emulator.usb import UsbAction, UsbOrder
from tests.emulator.usb_console import small_job

pytestmark = pytest.mark.emulator

ALL_NOTES_OFF = 123
CHANNELS = 4
STALLED_MS, DRAINS_AGAIN_MS = 900, 1400
ENUMERATION_MS = 150
RESTS: tuple[UsbAction, ...] = ((cycles(ms=STALLED_MS), "drain", 0), (cycles(ms=DRAINS_AGAIN_MS), "drain", 1))
GONE: tuple[UsbAction, ...] = ((cycles(ms=STALLED_MS), "plug", 0), (cycles(ms=DRAINS_AGAIN_MS), "plug", 1))


@cache
def built() -> Console:
    """Return the smaller demo on the small board."""
    return console(with_both(small_job("gutted_home")))


@cache
def performed(actions: tuple[UsbAction, ...]) -> tuple[Performance, Seen]:
    """Press and release every point with bounce while the computer does what it does, and stay on for a while."""
    this = built()
    played = play_everything(this, Random(7))
    scenario = this.stage.scenario(this.image.hex, played.end_us / 1000 + 300, played.events, keep_marks=True)
    return played, run(replace(scenario, usb=UsbOrder(actions)))


def data_of(seen: Seen, *, usb: bool) -> list[bytes]:
    """Return the messages of contacts that left by one outlet, in order."""
    return [each.data for each in (by_usb if usb else by_wire)(built(), seen)]


@pytest.mark.parametrize("actions", [(), RESTS], ids=["drains", "drains not"])
def test_the_wire_carries_everything_in_time(actions: tuple[UsbAction, ...]) -> None:
    """Whether the computer drains or not, each press and release is heard on the wire once and in time, and the models
    find nothing to complain of.
    """
    played, seen = performed(actions)
    judged = verdict(built(), played, seen)
    assert judged.sound, judged.report()
    assert judged.changes == judged.messages == 2 * len(playable(built().plan)) == 356
    assert seen.problems == {}


def test_a_computer_that_is_plugged_in_amid_playing_costs_no_message() -> None:
    """Every press and release is heard on the wire once.  Messages may be late only while the computer asks who this
    is: the stock core answers in an interrupt, which holds single scans up.
    """
    played, seen = performed(GONE)
    judged = verdict(built(), played, seen)
    assert judged.changes == judged.messages == 356
    assert {violation.fault for violation in judged.violations} <= {Fault.LATE}
    asked_us = range(1000 * DRAINS_AGAIN_MS, 1000 * (DRAINS_AGAIN_MS + ENUMERATION_MS))
    assert all(int(violation.at_us) in asked_us for violation in judged.violations)
    assert seen.problems == {}


def test_no_scan_waits_for_a_computer_that_does_not_drain() -> None:
    """From the first message on, every scan begins within the lateness that the guarantees allow for."""
    _, seen = performed(RESTS)
    begins = [cycle for cycle, value in seen.marks if value == SCAN_BEGINS]
    begins = [cycle for cycle in begins if cycle >= built().listening_us * CYCLES_PER_US]
    latest = max(later - sooner for sooner, later in pairwise(begins))
    assert len(begins) > 1000
    assert latest <= cycles(us=built().plan.tick_us + LATE_TICK_US)


def test_a_computer_that_drains_hears_what_the_wire_carries() -> None:
    """The same messages in the same order leave by both outlets, no packet later than 2 ms behind the wire's own."""
    _, seen = performed(())
    assert data_of(seen, usb=True) == data_of(seen, usb=False)
    pairs = zip(by_wire(built(), seen), by_usb(built(), seen), strict=True)
    assert max(packet.ends - message.ends for message, packet in pairs) <= cycles(ms=2)


@pytest.mark.parametrize("actions", [RESTS, GONE], ids=["drains not", "is unplugged"])
def test_a_computer_that_comes_back_is_silenced_then_told_how_things_stand(actions: tuple[UsbAction, ...]) -> None:
    """Up to the pause it hears what the wire carries; then All Notes Off on every channel (MIDI 1.0, channel mode
    messages); then each tab as it stands, between what the wire carries from then on.  At the end nothing sounds.
    """
    _, seen = performed(actions)
    wire, usb = data_of(seen, usb=False), data_of(seen, usb=True)
    first = next(at for at, data in enumerate(usb) if is_silence(data))
    behind = usb[first + CHANNELS :]
    assert usb[:first] == wire[:first]
    assert len({data for data in usb[first : first + CHANNELS] if is_silence(data)}) == CHANNELS
    strokes = [data for data in behind if data[:2] not in tab_heads()]
    assert strokes == [data for data in wire if data[:2] not in tab_heads()][-len(strokes) :]
    assert min(first, len(strokes)) > 20
    assert {data[:2] for data in behind} >= tab_heads()
    assert {head: last_said(behind, head) for head in tab_heads()} == {head: head + b"\0" for head in tab_heads()}
    assert {data[:2] for data in strokes if last_said(strokes, data[:2])[2] != 0} == set()
    assert seen.usb is not None
    assert seen.usb.unsent == 0


def is_silence(data: bytes) -> bool:
    """Whether a message is All Notes Off."""
    return data[0] & 0xF0 == 0xB0 and data[1] == ALL_NOTES_OFF


def tab_heads() -> frozenset[bytes]:
    """Return the first two bytes of the messages of all tabs that take part."""
    points = (each for each in built().plan.points if each.point.kind is PointKind.STOP and each.point.takes_part)
    return frozenset(each.message.on[:2] for each in points if each.message is not None)


def last_said(messages: list[bytes], head: bytes) -> bytes:
    """Return the last of the messages that begin so."""
    return next(data for data in reversed(messages) if data[:2] == head)
