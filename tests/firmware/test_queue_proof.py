"""The queue under any traffic and any stall: no note-off is lost, the order holds, and a note waits for little.

Hypothesis chooses what moves when, and when the wire or the host stops; the receiver's end is decoded by mido.
"""

from __future__ import annotations

from pathlib import Path

import mido
import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, rule, run_state_machine_as_test

from tests.firmware.console import Console, build_console
from tests.firmware.midi_file import Message
from tests.firmware.outside import Outside, bytes_of
from tests.firmware.test_events import KEY_REGISTERS, PISTON_REGISTERS, STOP_REGISTERS, duties_table
from tests.firmware.test_midi_in import FIRST_STOP, listening_table

REGISTERS = KEY_REGISTERS + PISTON_REGISTERS + STOP_REGISTERS
FIRST_OF_CHANNEL = {0: 0, 1: 8 * KEY_REGISTERS, 2: 8 * FIRST_STOP}
TICK_US = 250
BYTE_US = 320
"""Ten bits at 31,250 baud (IEC 63035)."""


class Receiver:
    """What a receiver of all messages holds as on, by contact."""

    def __init__(self) -> None:
        """Everything is off."""
        self.on: set[int] = set()

    def hear(self, messages: list[Message]) -> None:
        """Take messages; All Notes Off ends the notes of its channel."""
        for status, number, value in messages:
            kind, channel = status >> 4, status & 0x0F
            first = FIRST_OF_CHANNEL[channel]
            if kind == 0xB and channel != 2:
                self.on = {contact for contact in self.on if not first <= contact < first + 128 or contact >= 96}
            elif kind == 0x9 or (kind == 0xB and value == 127):
                self.on.add(first + number)
            else:
                self.on.discard(first + number)


def truth(console: Console) -> set[int]:
    """Debounced contacts that are on and not muted."""
    return {
        8 * lane + bit
        for lane in range(REGISTERS)
        for bit in range(8)
        if (console.state(lane) & ~console.lanes[lane].muted) >> bit & 1
    }


class Traffic(RuleBasedStateMachine):
    """Contacts move, the wire stops, the host comes and goes, panics and silences are ordered; then all is drained."""

    console: Console
    by_wire: bool

    @initialize()
    def begin(self) -> None:
        """Switch on, everything off, the host plugged in."""
        self.console.switch_on()
        self.outside = Outside(self.console)
        for register in range(REGISTERS):
            self.console.registers[register] = 0
        self.outside.plug()
        self.console.run(1000)
        self.console.take()
        self.receiver = Receiver()

    @rule(register=st.integers(0, REGISTERS - 1), level=st.integers(0, 255), ticks=st.integers(1, 4))
    def move(self, register: int, level: int, ticks: int) -> None:
        """Contacts of one lane move."""
        self.console.registers[register] = level
        self.console.run(ticks)

    @rule(level=st.integers(0, 255), ticks=st.integers(1, 3))
    def move_all_keys(self, level: int, ticks: int) -> None:
        """All keys move at once, so that the rings overflow."""
        for register in range(KEY_REGISTERS):
            self.console.registers[register] = level ^ (0xFF if register % 2 else 0)
        self.console.run(ticks)

    @rule(held=st.booleans(), ticks=st.integers(1, 300))
    def hold_the_outlet(self, held: bool, ticks: int) -> None:
        """The outlet stops for a while, or goes on."""
        if self.by_wire:
            self.console.hold_wire(held)
        else:
            self.outside.stop_taking(held)
        self.console.run(ticks)

    @rule(ticks=st.integers(0, 40))
    def panic(self, ticks: int) -> None:
        """Somebody panics."""
        self.console.library.panic_begin()
        self.console.run(ticks)

    @rule(ticks=st.integers(0, 40))
    def ask(self, ticks: int) -> None:
        """The state and the identity are asked for, and a channel is silenced."""
        self.outside.send(bytes((0xF0, 0x7D, 0x02, 0xF7, 0xB0, 123, 0)))
        self.console.run(ticks)

    def teardown(self) -> None:
        """Release every key, let all be sent, and compare the receiver with the truth."""
        if not hasattr(self, "receiver"):
            return
        self.console.hold_wire(held=False)
        self.outside.stop_taking(stopped=False)
        for register in range(FIRST_STOP):
            self.console.registers[register] = 0
        self.console.run(9000)
        self.receiver.hear(self.heard())
        assert self.receiver.on == truth(self.console)

    def heard(self) -> list[Message]:
        """Everything that was sent, decoded by mido; on the wire, by its Standard MIDI File reader."""
        if self.by_wire:
            return self.console.messages()
        data = b"".join(bytes_of(packet) for packet in self.outside.packets())
        return [tuple(message.bytes()) for message in mido.parse_all(data) if message.type != "sysex"]


@pytest.mark.parametrize(("wire", "usb"), [(1, 0), (0, 1)])
def test_any_traffic_ends_with_the_truth(tmp_path: Path, wire: int, usb: int) -> None:
    """Whatever moves, stops and is asked for: with all keys up, the receiver holds no note, and the stops as drawn."""

    class Here(Traffic):
        """The same on one outlet."""

        console = build_console(tmp_path, listening_table(MIDI_WIRE=wire, MIDI_USB=usb))
        by_wire = bool(wire)

    run_state_machine_as_test(
        Here,
        settings=settings(
            max_examples=40, stateful_step_count=40, deadline=None, suppress_health_check=list(HealthCheck)
        ),
    )


@pytest.fixture(scope="module")
def wire_console(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """Keys, pistons and stops by the wire."""
    return build_console(tmp_path_factory.mktemp("wire"), duties_table())


@pytest.fixture(scope="module")
def usb_console(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """Keys, pistons and stops by USB."""
    return build_console(tmp_path_factory.mktemp("usb"), listening_table(MIDI_WIRE=0, MIDI_USB=1))


def settled(console: Console) -> Console:
    """Past its start, everything off."""
    console.switch_on()
    for register in range(REGISTERS):
        console.registers[register] = 0
    Outside(console).plug()
    console.run(2000)
    console.take()
    Outside(console).packets()
    return console


@pytest.mark.parametrize("phase", range(24))
def test_a_note_waits_for_six_bytes_at_most(wire_console: Console, phase: int) -> None:
    """Whenever a key goes down while stops are being sent, its note is given to the wire three bytes later at most.

    It then stands behind one byte in the ring and the two that a transmitter's registers hold: six bytes, 6 x 320 us =
    1.92 ms, until its first byte begins.  Before it only the one message was given that was begun in the same tick.
    """
    console = settled(wire_console)
    for register in range(FIRST_STOP, REGISTERS):
        console.registers[register] = 0xFF
    console.run(12 + phase)
    begun = len(console.take())
    console.registers[0] = 0x01
    ticks = 0
    sent = b""
    while b"\x90\x00\x64" not in sent:
        console.run()
        ticks += 1
        sent += console.take()
    assert begun > 0
    assert sent.index(0x90) <= 3
    assert (ticks - 1) * TICK_US <= 3 * BYTE_US


@pytest.mark.parametrize("phase", range(0, 60, 3))
def test_a_note_waits_for_nine_bytes_while_held_keys_are_reported(wire_console: Console, phase: int) -> None:
    """After power-on the message before it may be the report of a held key, of six bytes: nine in all, 2.88 ms."""
    console = wire_console
    console.switch_on()
    for register in range(REGISTERS):
        console.registers[register] = 0xFF if 4 <= register < KEY_REGISTERS else 0
    console.run(40 + phase)
    begun = console.take()
    console.registers[0] = 0x01
    ticks = 0
    sent = b""
    while b"\x90\x00\x64" not in sent:
        console.run()
        ticks += 1
        sent += console.take()
    assert 0xF0 in begun
    assert sent.index(0x90) <= 6
    assert (ticks - 1) * TICK_US <= 6 * BYTE_US


def test_by_usb_a_note_waits_for_the_packets_already_taken(usb_console: Console) -> None:
    """A key that goes down when the interface's buffer is full of stops comes right behind those 16 packets."""
    console = settled(usb_console)
    outside = Outside(console)
    outside.stop_taking()
    for register in range(FIRST_STOP, REGISTERS):
        console.registers[register] = 0xFF
    console.run(8)
    console.registers[0] = 0x01
    console.run(8)
    outside.stop_taking(stopped=False)
    console.run(400)
    channels = [packet[1] & 0x0F for packet in outside.packets()]
    assert channels.index(0) <= 16
    assert channels.count(2) == 8 * STOP_REGISTERS


@pytest.mark.parametrize("by_wire", [True, False])
def test_the_order_is_notes_pistons_stops(request: pytest.FixtureRequest, by_wire: bool) -> None:
    """Of changes that wait together, however they came, notes leave first, then pistons, then stops."""
    console = settled(request.getfixturevalue("wire_console" if by_wire else "usb_console"))
    outside = Outside(console)
    console.hold_wire(held=True)
    outside.stop_taking()
    for register in range(FIRST_STOP, REGISTERS):
        console.registers[register] = 0xFF
    console.run(40)
    for register in (FIRST_STOP, KEY_REGISTERS, 0):
        console.registers[register] ^= 0x0F
        console.run(2)
    console.hold_wire(held=False)
    outside.stop_taking(stopped=False)
    console.run(2000)
    messages = console.messages() if by_wire else [tuple(packet[1:]) for packet in outside.packets()]
    channels = [message[0] & 0x0F for message in messages]
    notes, pistons = channels.index(0), channels.index(1)
    assert channels[notes : notes + 4] == [0] * 4
    assert channels[pistons : pistons + 4] == [1] * 4
    assert pistons == notes + 4
    assert set(channels[pistons + 4 :]) == {2}
