"""A contact that chatters without end is bounded by its debouncing, starves nobody, and is counted and named."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.firmware.console import Console, build_console
from tests.firmware.outside import Outside
from tests.firmware.table_text import CHAIN, COUNTED, NOTES, ConsoleTable, chain_of_keys, note

SECOND = 4000
HOLD = 8
NONE = 0xFFFF


def settled(console: Console, registers: int) -> Console:
    """The console past its start, every key up."""
    for register in range(registers):
        console.registers[register] = 0xFF
    console.run(2 * SECOND)
    console.take()
    return console


def chatter(console: Console, lanes: dict[int, int], ticks: int) -> None:
    """Let the contacts of masks, by register, change in every sample."""
    for _ in range(ticks):
        for register, mask in lanes.items():
            console.registers[register] ^= mask
        console.run()


@pytest.fixture
def console(tmp_path: Path) -> Console:
    """Forty registers of first-edge keys with a hold-off of eight samples, settled."""
    return settled(build_console(tmp_path, chain_of_keys(40, HOLD, LINK=1)), 40)


def test_a_hold_off_bounds_what_a_contact_can_send(console: Console) -> None:
    """A first-edge contact that changes in every sample sends at most one message in each hold-off."""
    ticks = 2 * SECOND
    chatter(console, {0: 0x01}, ticks)
    assert ticks // HOLD // 2 < len(console.messages()) <= ticks // HOLD + 1


@pytest.mark.parametrize(("press", "release"), [(2, 5), (3, 3)])
def test_counts_bound_what_a_contact_can_send(tmp_path: Path, press: int, release: int) -> None:
    """A counted contact, however it changes, sends at most two messages in as many samples as both its counts."""
    table = ConsoleTable(
        runs=[(CHAIN, 0, 0, 1, 0, 0)],
        groups=[(COUNTED, press, release, 1, 0, 0, NOTES, 0, 0, 0)],
        lanes=[(0xFF, 0xFF)],
        messages=[note(0, 36 + number) for number in range(8)],
        sizes={"REGISTER_COUNT": 1, "COUNTER_PLANES": 3},
    )
    console = settled(build_console(tmp_path, table), 1)
    rounds = 300
    for _ in range(rounds):
        for level, samples in ((0xFE, press), (0xFF, release)):
            console.registers[0] = level
            console.run(samples)
    console.run(SECOND)
    assert 0 < len(console.messages()) <= 2 * rounds
    chatter(console, {0: 0x01}, rounds)
    assert console.messages() == []


def test_one_that_chatters_keeps_nobody_waiting(console: Console) -> None:
    """Beside a contact that chatters, another key is heard within ten milliseconds, as ever."""
    chatter(console, {0: 0x01}, SECOND)
    console.take()
    console.registers[39] = 0xFE
    chatter(console, {0: 0x01}, 40)
    assert (0x94, 36 + 56, 100) in console.messages()


def test_many_that_chatter_starve_nobody(console: Console) -> None:
    """Forty contacts ask for five times what the wire can carry, and the ring overflows all the time.

    Any other key is heard all the same, its press and its release: the ring gives each slot that is freed to the next
    lane in turn, so the wait is at most a round of all lanes behind a full ring.
    """
    storm = dict.fromkeys(range(40), 0x01)
    chatter(console, storm, SECOND // 2)
    console.take()
    for register in (0, 20, 39):
        for bits, status in ((0x80, 0x90), (0x00, 0x80)):
            console.registers[register] = (console.registers[register] & ~0x80) | (0x80 ^ bits)
            chatter(console, storm, SECOND // 2)
            channel, number = register // 8, 36 + register % 8 * 8 + 7
            heard = [m[:2] for m in console.messages() if m[1] == number and m[0] & 0x0F == channel]
            assert heard == [(status | channel, number)]
    assert console.overflowed > 1000


def test_chatter_is_counted_and_named(console: Console) -> None:
    """A contact that chatters for three seconds is named, and the seconds are counted; playing is not."""
    outside = Outside(console)
    for step in range(60):
        console.registers[1 + step % 3] ^= 0x10
        console.run(SECOND // 20)
    assert outside.counter("chatter_seconds") == 0
    assert outside.counter("chatter_contact") == NONE
    chatter(console, {7: 0x20}, 3 * SECOND)
    assert outside.counter("chatter_seconds") in {2, 3}
    assert outside.counter("chatter_contact") == 7 * 8 + 5
