"""Consoles on the ATmega32U4, played in the emulator and heard by USB: what the plan says of them holds."""

from __future__ import annotations

from functools import cache
from random import Random

import pytest

from tests.emulator.demos import Console, console
from tests.emulator.harness import CYCLES_PER_US, Seen, run
from tests.emulator.midi_stream import decode_packets
from tests.emulator.playing import (
    Performance,
    clean_strokes,
    last_points,
    play_everything,
    playable,
    shoe_messages,
    verdict,
)
from tests.emulator.proof import judge, promises
from tests.emulator.quiet import quiet_scans, tick_times
from tests.emulator.random_jobs import random_job
from tests.emulator.usb_console import on_small_board, small_job

pytestmark = pytest.mark.emulator

CONSOLES = ("gutted_home", "drawn 101", "drawn 103")
FLASH_BYTES, BOOT_BYTES = 32_768, 4096
"""Atmel 7766; boards.txt of the stock core leaves 28,672 bytes to sketches."""


@cache
def built(name: str) -> Console:
    """Return a demo or drawn console on the small board."""
    if not name.startswith("drawn "):
        return console(small_job(name))
    return console(on_small_board(random_job(int(name.removeprefix("drawn ")))))


@cache
def performed(name: str) -> tuple[Performance, Seen]:
    """Play every point of a console once."""
    played = play_everything(built(name), Random(7))
    return played, play(name, played)


def play(name: str, played: Performance) -> Seen:
    """Run what was played, and listen for a while longer."""
    this = built(name)
    return run(this.stage.scenario(this.image.hex, played.end_us / 1000 + 100, played.events))


@pytest.mark.parametrize("name", CONSOLES)
def test_every_point_is_heard_by_usb(name: str) -> None:
    """Each press and release brings its packet within the prediction, host included, and nothing else is heard."""
    played, seen = performed(name)
    judged = verdict(built(name), played, seen)
    assert judged.sound, judged.report()
    assert judged.changes == judged.messages == 2 * len(playable(built(name).plan)) > 0
    assert seen.problems == {}


@pytest.mark.parametrize("name", CONSOLES)
def test_the_latest_packet_is_handed_over_when_predicted(name: str) -> None:
    """Up to the hand-over, without what the computer takes, the worst press is 80 to 100 % of its prediction."""
    this = built(name)
    played = clean_strokes(this, Random(8), last_points(this.plan), 30)
    usb = play(name, played).usb
    assert usb is not None
    handed_over = decode_packets((ready, ready, packet) for ready, _, packet in usb.packets)
    judged = judge(
        promises(this.plan),
        played.changes,
        handed_over,
        from_cycle=this.listening_us * CYCLES_PER_US,
        ignored=shoe_messages(this.plan),
    )
    assert judged.sound, judged.report()
    for group in {group.id: group for group in playable(this.plan).values()}.values():
        assert group.path is not None
        predicted_us = group.press_latency_us_max - group.path.message_us
        assert 0.8 * predicted_us <= max(judged.latencies[group.id].press_us) <= predicted_us


@pytest.mark.parametrize("name", CONSOLES)
def test_the_busy_time_is_the_predicted_one(name: str) -> None:
    """Every set of due groups takes what the plan says, within 5 % or 1 µs."""
    measured, predicted = tick_times(built(name).plan, quiet_scans(built(name)))
    assert predicted == pytest.approx(measured, rel=0.05, abs=1)


@pytest.mark.parametrize("name", CONSOLES)
def test_data_and_stack_fit_into_the_chip(name: str) -> None:
    """The deepest stack of a whole performance leaves bytes above the data; the image fits beside the boot loader."""
    _, seen = performed(name)
    assert seen.lowest_stack > 0x100 + built(name).image.ram + 100
    assert built(name).image.flash <= FLASH_BYTES - BOOT_BYTES
