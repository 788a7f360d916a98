"""Changes on their way to the wire: nothing is lost that matters, and the urgent goes first."""

from __future__ import annotations

import random
from collections.abc import Iterable
from pathlib import Path

import pytest

from tests.firmware.console import Console, build_console
from tests.firmware.midi_file import Message
from tests.firmware.table_text import CHAIN, FIRST_EDGE, NOTES, PISTONS, STOPS, ConsoleTable, chain_of_keys, note

KEY_REGISTERS, PISTON_REGISTERS, STOP_REGISTERS = 12, 3, 5


def controller(channel: int, number: int) -> tuple[tuple[int, int, int], tuple[int, int, int]]:
    """The messages of a stop."""
    return ((0xB0 | channel, number, 127), (0xB0 | channel, number, 0))


def duties_table() -> ConsoleTable:
    """Keys, pistons and stops on one chain, all first edge with the shortest hold-off, active high."""
    registers = KEY_REGISTERS + PISTON_REGISTERS + STOP_REGISTERS
    keys, pistons = 8 * KEY_REGISTERS, 8 * PISTON_REGISTERS
    return ConsoleTable(
        runs=[
            (CHAIN, 0, 0, KEY_REGISTERS, 0, 0),
            (CHAIN, 0, KEY_REGISTERS, PISTON_REGISTERS, 1, KEY_REGISTERS),
            (CHAIN, 0, KEY_REGISTERS + PISTON_REGISTERS, STOP_REGISTERS, 2, KEY_REGISTERS + PISTON_REGISTERS),
        ],
        groups=[
            (FIRST_EDGE, 1, 1, 1, 0, 0, NOTES, 0, 0, keys),
            (FIRST_EDGE, 1, 1, 1, 0, 0, PISTONS, 0, keys, pistons),
            (FIRST_EDGE, 1, 1, 1, 0, 0, STOPS, 0, keys + pistons, 8 * STOP_REGISTERS),
        ],
        lanes=[(0xFF, 0)] * registers,
        messages=[
            *(note(0, number) for number in range(keys)),
            *(note(1, number) for number in range(pistons)),
            *(controller(2, number) for number in range(8 * STOP_REGISTERS)),
        ],
        sizes={"REGISTER_COUNT": registers, "HOLD_SLOTS": registers * 8},
    )


@pytest.fixture(scope="module")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """The console of `duties_table`."""
    return build_console(tmp_path_factory.mktemp("events"), duties_table())


@pytest.fixture
def console(compiled: Console) -> Console:
    """The same, past its start, every contact off, nothing left to send."""
    compiled.switch_on()
    for register in range(KEY_REGISTERS + PISTON_REGISTERS + STOP_REGISTERS):
        compiled.registers[register] = 0
    compiled.run(1000)
    compiled.take()
    return compiled


def received(messages: Iterable[Message]) -> tuple[set[int], list[str]]:
    """Contacts that a receiver holds as on, and every message that did not change what it held."""
    on: set[int] = set()
    useless = []
    for status, number, value in messages:
        first = {0: 0, 1: 8 * KEY_REGISTERS, 2: 8 * (KEY_REGISTERS + PISTON_REGISTERS)}[status & 0x0F]
        is_on = status >> 4 == 0x9 or (status >> 4 == 0xB and value == 127)
        contact = first + number
        if (contact in on) == is_on:
            useless.append(f"{status:02X} {number} {value}")
        (on.add if is_on else on.discard)(contact)
    return on, useless


def contacts_on(console: Console) -> set[int]:
    """The debounced contacts that are on."""
    registers = KEY_REGISTERS + PISTON_REGISTERS + STOP_REGISTERS
    return {8 * lane + bit for lane in range(registers) for bit in range(8) if console.state(lane) >> bit & 1}


@pytest.mark.parametrize("seed", range(8))
def test_an_overflow_never_leaves_a_note_sounding(console: Console, seed: int) -> None:
    """Whatever storm of changes meets the queue, a receiver of all bytes ends with the true state of every contact.

    Every message changes what the receiver holds, and the storm really overflows the rings.
    """
    storm = random.Random(seed)
    for _ in range(150):
        for register in range(KEY_REGISTERS + PISTON_REGISTERS + STOP_REGISTERS):
            console.registers[register] = storm.getrandbits(8) if storm.random() < 0.7 else console.registers[register]
        console.run(storm.choice((1, 1, 1, 2, 30)))
    last = storm.getrandbits(8)
    for register in range(KEY_REGISTERS):
        console.registers[register] = last
    console.run(3000)
    on, useless = received(console.messages())
    assert console.overflowed > 0
    assert not useless
    assert on == contacts_on(console)


def test_what_was_sent_and_what_is_queued_is_always_known(console: Console) -> None:
    """At every tick of a storm `sent` is what the receiver will hold once the queue has drained.

    The wire is stopped, the contacts are left alone, and the receiver's end state is compared with `sent` before.
    """
    storm = random.Random(99)
    registers = range(KEY_REGISTERS + PISTON_REGISTERS + STOP_REGISTERS)
    for _ in range(60):
        for register in registers:
            console.registers[register] = storm.getrandbits(8)
        console.run()
    sent = {8 * lane + bit for lane in registers for bit in range(8) if console.lanes[lane].sent >> bit & 1}
    behind = sent ^ contacts_on(console)
    for lane in registers:
        console.lanes[lane].listen = 0
    console.run(3000)
    on, useless = received(console.messages())
    assert behind, "the storm must have held something back"
    assert not useless
    assert on == contacts_on(console)
    assert on ^ behind == sent


def test_a_core_that_drops_a_note_off_is_caught(tmp_path: Path) -> None:
    """A core that counts a change as sent although the ring was full leaves notes sounding, and this is seen."""
    source = (Path(__file__).parents[2] / "firmware_templates/core/events.c").read_text(encoding="utf-8")
    right = "    ring->behind = LANE_COUNT;\n"
    assert source.count(right) == 1
    (tmp_path / "events.c").write_text(source.replace(right, "    ring->behind = 0;\n"), encoding="utf-8")
    console = build_console(tmp_path, duties_table(), patched=tmp_path)
    for register in range(KEY_REGISTERS + PISTON_REGISTERS + STOP_REGISTERS):
        console.registers[register] = 0
    console.run(1000)
    console.take()
    for value in [*(0xFF, 0x00) * 8]:
        for register in range(KEY_REGISTERS):
            console.registers[register] = value
        console.run()
    console.run(3000)
    on, _ = received(console.messages())
    assert on != contacts_on(console)


def test_notes_pistons_stops_in_this_order(console: Console) -> None:
    """Of changes that wait together, notes go first, then pistons, then stops."""
    console.hold_wire(held=True)
    console.registers[KEY_REGISTERS + PISTON_REGISTERS] = 0x01
    console.run()
    for register in (KEY_REGISTERS + PISTON_REGISTERS, KEY_REGISTERS, 0):
        console.registers[register] |= 0x06
    console.run()
    console.hold_wire(held=False)
    console.run(200)
    channels = [message[0] & 0x0F for message in console.messages()]
    assert channels == [2, 0, 0, 1, 1, 2, 2]


def test_a_note_waits_for_one_message_at_most(console: Console) -> None:
    """While forty stops are being sent, a key's note comes after at most one more whole stop message."""
    for register in range(KEY_REGISTERS + PISTON_REGISTERS, KEY_REGISTERS + PISTON_REGISTERS + STOP_REGISTERS):
        console.registers[register] = 0xFF
    console.run(20)
    begun = len(console.take())
    console.registers[0] = 0x01
    console.run(300)
    after = console.take()
    position = after.index(0x90)
    assert begun > 0
    assert position <= 2
    assert after[position + 1 : position + 3] == bytes((0, 100))


def test_all_keys_at_once_are_all_sent(tmp_path: Path) -> None:
    """All 320 keys of 40 registers, changing in one sample, are sent once each, on and off."""
    console = build_console(tmp_path, chain_of_keys(40, 8))
    console.run(200)
    console.take()
    for value, status in ((0x00, 0x90), (0xFF, 0x80)):
        for register in range(40):
            console.registers[register] = value
        console.run(1500)
        sent = console.messages()
        assert sorted(m[:2] for m in sent) == [(status | c, 36 + n) for c in range(5) for n in range(64)]
