"""Expanders on the two-wire bus: set up, read in rounds, and never waited for.

Registers and their values after power-on: Microchip DS20001952C, register addresses with IOCON.BANK 0.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.firmware.console import Console, build_console
from tests.firmware.table_text import CHAIN, EXPANDER, FIRST_EDGE, NOTES, ConsoleTable, note

ADDRESSES = (0x20, 0x23)
INPUTS = 0x7F
IODIR, GPPU = slice(0, 2), slice(0x0C, 0x0E)
KEY_OF_THE_CHAIN = 100
LANES = 5
"""Two ports of each expander, then, read first, a register of the chain."""


def console_of(folder: Path, *, period_ticks: int = 2, settled: bool = True) -> Console:
    """Two expanders read every second tick beside a register of the chain, every contact open, the start passed."""
    log2 = (period_ticks - 1).bit_length()
    table = ConsoleTable(
        runs=[(CHAIN, 0, 0, 1, 0, 0), (EXPANDER, 0, 1, 2, 1, 0), (EXPANDER, 1, 3, 2, 1, 0)],
        groups=[(FIRST_EDGE, 1, 1, 2, 0, 0, NOTES, 0, 0, 8), (FIRST_EDGE, 1, 1, 2, log2, 0, NOTES, 0, 8, 28)],
        lanes=[(0xFF, 0xFF)] + [(INPUTS, INPUTS)] * 4,
        messages=[note(0, KEY_OF_THE_CHAIN + bit) for bit in range(8)] + [note(1, 30 + n) for n in range(32)],
        expanders=ADDRESSES,
        channels=range(2),
        sizes={"HOLD_SLOTS": 36, "REGISTER_COUNT": 1, "BUS_PERIOD_TICKS": period_ticks},
    )
    console = build_console(folder, table)
    for expander in console.expanders:
        expander.levels[0] = expander.levels[1] = 0xFF
    if settled:
        console.run(40)
        console.take()
    return console


def test_the_pins_that_take_contacts_are_inputs_and_pulled_up(tmp_path: Path) -> None:
    """Seven pins of each port are pulled-up inputs; the eighth, an output alone by DS20001952D, drives low."""
    console = console_of(tmp_path)
    for address in ADDRESSES:
        registers = bytes(console.expanders[address - 0x20].registers)
        assert registers[IODIR] == registers[GPPU] == bytes((INPUTS, INPUTS))
        assert not any(registers[0x02:0x0C])
    assert (console.failures, console.late_rounds) == (0, 0)


@pytest.mark.parametrize("expander", [0, 1])
@pytest.mark.parametrize("pin", [0, 6, 8, 14])
def test_every_pin_is_its_own_key(tmp_path: Path, expander: int, pin: int) -> None:
    """A contact that pulls its pin low is heard as its own key and as no other."""
    console = console_of(tmp_path)
    levels = console.expanders[ADDRESSES[expander] - 0x20].levels
    levels[pin // 8] = 0xFF ^ (1 << pin % 8)
    console.run(8)
    levels[pin // 8] = 0xFF
    console.run(12)
    number = 30 + 16 * expander + pin
    assert console.messages() == [(0x91, number, 100), (0x81, number, 64)]


def test_a_contact_is_heard_a_round_after_it_was_sampled(tmp_path: Path) -> None:
    """What one round brings is looked at when the next begins, and not before."""
    console = console_of(tmp_path, period_ticks=4)
    console.expanders[0].levels[0] = 0xFE
    heard = []
    for _ in range(9):
        console.run()
        heard.append(len(console.messages()))
    assert sum(heard) == 1
    assert 4 <= heard.index(1) <= 8


def test_an_expander_that_does_not_answer_is_idle_and_counted(tmp_path: Path) -> None:
    """Its held key is released, the failures are counted, and the others are heard as before."""
    console = console_of(tmp_path)
    console.expanders[0].levels[0] = 0xFE
    console.run(8)
    console.expanders[0].absent = 1
    console.run(20)
    console.expanders[3].levels[1] = 0xFD
    console.registers[0] = 0xFB
    console.run(20)
    released, kept = (0x81, 30, 64), {(0x91, 30 + 16 + 9, 100), (0x90, KEY_OF_THE_CHAIN + 2, 100)}
    first, second, *others = console.messages()
    assert [first, second] == [(0x91, 30, 100), released]
    assert set(others) == kept
    assert console.failures == pytest.approx(20, abs=2)


def test_an_expander_that_comes_back_is_set_up_anew(tmp_path: Path) -> None:
    """It has forgotten its settings with its supply; they are sent again, and its keys are heard again."""
    console = console_of(tmp_path)
    console.expanders[0].absent = 1
    console.run(8)
    for register in range(22):
        console.expanders[0].registers[register] = 0xFF if register < 2 else 0
    console.expanders[0].absent = 0
    console.run(20)
    assert console.messages() == []
    console.expanders[0].levels[0] = 0xFE
    console.run(8)
    assert console.messages() == [(0x91, 30, 100)]


def test_a_bus_that_hangs_holds_nothing_up(tmp_path: Path) -> None:
    """No step ends any more: the chain is heard, the expanders' keys are released, and the bus is tried anew."""
    console = console_of(tmp_path)
    console.expanders[0].levels[0] = 0xFE
    console.run(8)
    console.messages()
    console.hang_bus(True)
    console.registers[0] = 0xFE
    console.run(20)
    assert console.messages() == [(0x90, KEY_OF_THE_CHAIN, 100), (0x81, 30, 64)]
    assert console.bus_releases > 5
    assert console.failures >= 2 * console.bus_releases - 2
    console.hang_bus(False)
    console.run(12)
    assert console.messages() == [(0x91, 30, 100)]


def test_before_the_first_round_every_contact_is_off(tmp_path: Path) -> None:
    """Nothing is heard of levels that nobody has read yet."""
    console = console_of(tmp_path, settled=False)
    console.hang_bus(True)
    console.run(60)
    assert [message for message in console.messages() if message[0] & 0xF0 == 0x90] == []
