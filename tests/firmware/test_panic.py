"""A panic: each note that sounds is ended by its own off, then the channels are silenced; nothing else is touched."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest

from tests.firmware.console import Console, build_console
from tests.firmware.outside import Outside
from tests.firmware.table_text import NOTES, chain_of_keys, note
from tests.firmware.test_events import KEY_REGISTERS, PISTON_REGISTERS, STOP_REGISTERS
from tests.firmware.test_midi_in import FIRST_STOP, STOPS, listening_table, settled

SECOND = 4000
FIRST, SECOND_PISTON = 8 * KEY_REGISTERS, 8 * KEY_REGISTERS + 9
MODES = [(0xB1, 123, 0), (0xB1, 64, 0), (0xB0, 123, 0), (0xB0, 64, 0)]
"""All Notes Off, then damper off, of each channel that carries notes (MIDI 1.0, controllers 123 and 64)."""


@pytest.fixture(scope="module")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """The console of duties with a panic on two of its pistons."""
    table = listening_table(PANIC_PISTONS=1, PANIC_FIRST=FIRST, PANIC_SECOND=SECOND_PISTON)
    return build_console(tmp_path_factory.mktemp("panic"), table)


@pytest.fixture
def console(compiled: Console) -> Console:
    """The same, settled."""
    return settled(compiled)


def hold_pistons(console: Console, first: bool, second: bool) -> None:
    """Press or release the two pistons of the panic."""
    console.registers[KEY_REGISTERS] = 0x01 if first else 0
    console.registers[KEY_REGISTERS + 1] = 0x02 if second else 0


def test_what_sounds_is_ended_note_by_note(console: Console) -> None:
    """Exactly the notes that are on get an off; then the channels' modes; then the stops are said again; no shoe."""
    console.registers[2] = 0x81
    console.registers[KEY_REGISTERS] = 0x04
    console.registers[FIRST_STOP] = 0x01
    console.run(200)
    console.take()
    console.library.panic_begin()
    console.run(SECOND)
    stops = [(0xB2, 0, 127), *STOPS[1:]]
    assert console.messages() == [(0x80, 16, 64), (0x80, 23, 64), (0x81, 2, 64), *MODES, *stops]


def test_held_keys_are_muted_until_released(console: Console) -> None:
    """A key that is held through a panic is silent, also when released, and sounds again at its next press."""
    console.registers[0] = 0x01
    console.run(100)
    console.library.panic_begin()
    console.run(SECOND)
    console.take()
    for level, sent in ((0x00, []), (0x01, [(0x90, 0, 100)])):
        console.registers[0] = level
        console.run(100)
        assert console.messages() == sent


def test_catching_up_does_not_sound_a_silenced_key_again(console: Console) -> None:
    """A key that is held through a panic stays silent although the lanes are gone through for what was held back."""
    console.registers[0] = 0x01
    console.run(100)
    console.library.panic_begin()
    console.run(SECOND)
    console.take()
    console.library.events_check(NOTES)
    console.run(100)
    assert console.messages() == []


def test_a_flood_of_silences_keeps_nothing_else_waiting(tmp_path: Path) -> None:
    """A channel is silenced each tick, before the lanes have been gone through: the identity is told all the same."""
    table = replace(
        chain_of_keys(240, 8), messages=[note(0, contact % 128) for contact in range(240 * 8)], channels=[0]
    )
    console = build_console(tmp_path, table)
    console.run(500)
    console.take()
    outside = Outside(console)
    outside.send(bytes((0xF0, 0x7E, 0x7F, 0x06, 0x01, 0xF7)))
    for _ in range(400):
        outside.send(bytes((0xB0, 123, 0)))
        console.run()
    assert [message[0] for message in console.messages()] == [0xF0]


def test_two_pistons_held_for_two_seconds(console: Console) -> None:
    """Both pistons held for two seconds begin a panic, once; either alone, or both for less, do not."""
    for first, second, ticks in ((True, False, 3 * SECOND), (False, True, 3 * SECOND), (True, True, SECOND * 19 // 10)):
        hold_pistons(console, first, second)
        console.run(ticks)
        hold_pistons(console, first=False, second=False)
        console.run(100)
        assert not [message for message in console.messages() if message[0] >> 4 == 0xB]
    hold_pistons(console, first=True, second=True)
    console.run(4 * SECOND)
    assert [message for message in console.messages() if message[0] in {0xB0, 0xB1}] == MODES


def test_stuck_pistons_do_not_panic_at_power_on(compiled: Console) -> None:
    """Pistons that are on at power-on are muted, and do not count until they have been released."""
    compiled.switch_on()
    for register in range(KEY_REGISTERS + PISTON_REGISTERS + STOP_REGISTERS):
        compiled.registers[register] = 0
    hold_pistons(compiled, first=True, second=True)
    compiled.run(4 * SECOND)
    assert not [message for message in compiled.messages() if message[1:2] == (64,)]


def test_a_panic_delays_no_key(console: Console) -> None:
    """While 96 notes are being ended, a key released or pressed is heard behind one more message at most."""
    for register in range(KEY_REGISTERS):
        console.registers[register] = 0xFF
    console.run(1500)
    console.registers[11] = 0x7F
    console.run(100)
    console.take()
    console.library.panic_begin()
    console.run(16)
    begun = len(console.take())
    assert begun > 0
    console.registers[11] = 0xFF
    console.run(200)
    messages = console.messages()
    assert messages.index((0x90, 95, 100)) <= 2


@pytest.mark.parametrize("seed", range(4))
def test_after_any_panic_the_receiver_holds_nothing_that_is_not_played(console: Console, seed: int) -> None:
    """Panics in a storm of keys: when all keys are up again, each note that was switched on has been switched off."""
    hands = random.Random(seed)
    for step in range(300):
        console.registers[hands.randrange(KEY_REGISTERS)] = hands.getrandbits(8)
        if step % 50 == 7:
            console.library.panic_begin()
        console.run(hands.choice((1, 1, 8)))
    for register in range(KEY_REGISTERS):
        console.registers[register] = 0
    console.run(2 * SECOND)
    on: set[int] = set()
    for message in console.messages():
        if message[0] in {0x90, 0x80}:
            (on.add if message[0] == 0x90 else on.discard)(message[1])
    assert not on


def test_a_panic_in_the_middle_of_another_ends(console: Console) -> None:
    """Panics ordered again and again end with one set of modes behind the last, and shoes and stops are heard again."""
    for _ in range(30):
        console.library.panic_begin()
        console.run(3)
    console.run(SECOND * 2)
    messages = console.messages()
    assert [message for message in messages if message in MODES][-4:] == MODES
    assert messages[-len(STOPS) :] == STOPS
    assert Outside(console).counter("midi_in_ignored") == 0
