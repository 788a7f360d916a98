"""The compiled firmware on an emulated ATmega2560, with tables of its own: its speed in cycles, and scans that overrun.

Cycles of the emulator are exact and repeat, so a limit in them is no matter of this machine's speed.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.emulator.build import Image
from tests.emulator.harness import Chain, Scenario, Seen, cycles, run
from tests.emulator.table_image import image_of
from tests.firmware.table_text import chain_of_keys

pytestmark = pytest.mark.emulator

REGISTERS = 40
CYCLES_PER_US = 16
SETTLED = cycles(ms=300)
SCAN_BEGINS, SCAN_ENDS = 0xFF, 0
FASTEST = chain_of_keys(REGISTERS, 8, TICK_US=1000, SPI_DIVIDER=2, POWER_ON_TICKS=10)


@cache
def fastest() -> Image:
    """The image with 320 keys on a chain clocked at half the processor's clock."""
    return image_of(FASTEST)


def play(image: Image, changes: list[tuple[int, int, int]], until: int) -> Seen:
    """Let contacts of the chain change, as (cycle, contact, level), and return what was seen."""
    events = tuple((cycle, "chain", contact // 8, contact % 8, level) for cycle, contact, level in changes)
    chain = Chain(REGISTERS, initial=(0xFF,) * REGISTERS)
    return run(Scenario(image.hex, until, chain, events=events, keep_marks=True))


def scan_us(seen: Seen, after: int) -> list[float]:
    """How long each scan from a moment on took, in microseconds, from mark to mark."""
    begins = [cycle for cycle, value in seen.marks if value == SCAN_BEGINS and cycle >= after]
    ends = [cycle for cycle, value in seen.marks if value == SCAN_ENDS and begins and cycle >= begins[0]]
    return [(end - begin) / CYCLES_PER_US for begin, end in zip(begins, ends, strict=False)]


def test_a_quiet_scan_of_320_contacts_takes_60_us_at_most() -> None:
    """Nothing moves: every scan takes no more than one and a half times the wire's own 40 microseconds."""
    taken = scan_us(play(fastest(), [], SETTLED + cycles(ms=20)), SETTLED)
    assert len(taken) >= 19
    assert max(taken) <= 60


def test_all_320_contacts_at_once_take_400_us_at_most() -> None:
    """Every key is pressed in one sample: that scan takes 400 microseconds at most."""
    pressed = [(SETTLED, contact, 0) for contact in range(8 * REGISTERS)]
    taken = scan_us(play(fastest(), pressed, SETTLED + cycles(ms=3)), SETTLED)
    assert 60 < max(taken) <= 400


def test_contacts_that_bounce_in_their_hold_off_cost_nearly_nothing() -> None:
    """Twenty contacts bounce on while their hold-offs run: each such scan takes 90 microseconds at most."""
    bouncing = [(SETTLED + cycles(ms=step), 16 * place, step % 2) for step in range(7) for place in range(20)]
    taken = scan_us(play(fastest(), bouncing, SETTLED + cycles(ms=7)), SETTLED + cycles(ms=1.5))
    assert len(taken) >= 4
    assert max(taken) <= 90


@pytest.mark.parametrize("register", [0, 19, 38])
def test_the_first_byte_leaves_15_us_after_its_register_was_read(register: int) -> None:
    """From the byte of a register to its key's first byte on an idle wire, 15 microseconds at most pass.

    A quiet lane takes 21 cycles, and the first is read 52 cycles after the scan has begun.
    """
    seen = play(fastest(), [(SETTLED, 8 * register + 7, 0)], SETTLED + cycles(ms=3))
    begun = next(cycle for cycle, value in seen.marks if value == SCAN_BEGINS and cycle >= SETTLED)
    first = next(cycle for cycle, _ in seen.midi if cycle >= SETTLED)
    assert first - begun <= 52 + 21 * register + 15 * CYCLES_PER_US


def test_memory_for_320_contacts() -> None:
    """320 contacts take 2 KiB of RAM at most; flash stays below 24 KiB."""
    assert fastest().ram <= 2048
    assert fastest().flash <= 24 * 1024


def test_a_scan_that_overruns_its_tick_still_reads_every_register_in_its_place() -> None:
    """With a chain so slow that each scan begins as the last one ends, a key is heard as itself and as nothing else."""
    slow = image_of(chain_of_keys(REGISTERS, 8, TICK_US=250, SPI_DIVIDER=32, POWER_ON_TICKS=10))
    key = 8 * 20 + 2
    strokes = [(SETTLED, key, 0), (SETTLED + cycles(ms=30), key, 1)]
    seen = play(slow, strokes, SETTLED + cycles(ms=60))
    sent = bytes(byte for cycle, byte in seen.midi if cycle >= SETTLED)
    channel, number = key // 64, 36 + key % 64
    assert sent == bytes((0x90 | channel, number, 100, 0x80 | channel, number, 64))
