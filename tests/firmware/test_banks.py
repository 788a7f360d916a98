"""Banks of multiplexers: every input of every multiplexer, the select lines, and the wait behind them."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.firmware.console import Console, build_console
from tests.firmware.table_text import FIRST_EDGE, MULTIPLEXER, NOTES, ConsoleTable, note

PORT, SELECT_PORT = 9, 3
LINES = (0x80, 0x04, 0x02, 0x01)


def banks_of(inputs: int, settle_us: int = 7) -> ConsoleTable:
    """A bank whose first group has the lower half of the inputs, and whose second group the rest."""
    lines, half = (inputs - 1).bit_length(), inputs // 2
    return ConsoleTable(
        runs=[(MULTIPLEXER, 0, 0, half, 0, 0), (MULTIPLEXER, 0, half, inputs - half, 1, half)],
        groups=[(FIRST_EDGE, 1, 1, 2, 0, 0, NOTES, 0, first, 8 * half) for first in (0, 8 * half)],
        lanes=[(0xFF, 0xFF)] * inputs,
        messages=[note(contact // 64, 30 + contact % 64) for contact in range(8 * inputs)],
        banks=[(PORT, lines, [SELECT_PORT] * lines, list(LINES[:lines]), settle_us)],
        channels=range(2),
        sizes={"HOLD_SLOTS": 8 * inputs},
    )


def wired(console: Console, inputs: int, settle_us: int = 7) -> Console:
    """Wire the bank of the pretended board as the table says, every contact open, and let the start pass."""
    bank = console.banks[0]
    bank.used, bank.common_port, bank.settle_us = 1, PORT, settle_us
    for line in range((inputs - 1).bit_length()):
        bank.select_port[line], bank.select_mask[line] = SELECT_PORT, LINES[line]
    for number in range(16):
        bank.levels[number] = 0xFF
    console.run(20)
    console.take()
    return console


@pytest.mark.parametrize("inputs", [8, 16])
def test_every_input_of_every_multiplexer_is_its_own_key(tmp_path: Path, inputs: int) -> None:
    """A closed contact is heard as its own key and as no other."""
    console = wired(build_console(tmp_path, banks_of(inputs)), inputs)
    for number in range(inputs):
        for bit in range(8):
            console.banks[0].levels[number] = 0xFF ^ (1 << bit)
            console.run(4)
            console.banks[0].levels[number] = 0xFF
            console.run(4)
            contact = 8 * number + bit
            key = (contact // 64, 30 + contact % 64)
            assert console.messages() == [(0x90 | key[0], key[1], 100), (0x80 | key[0], key[1], 64)]


def test_a_wait_that_is_too_short_hears_the_input_before(tmp_path: Path) -> None:
    """The commons are read after the stated wait and not later: with commons that need 8 microseconds, all is wrong."""
    console = wired(build_console(tmp_path, banks_of(8)), 8, settle_us=8)
    console.banks[0].levels[3] = 0x00
    console.run(20)
    assert console.messages() == []
