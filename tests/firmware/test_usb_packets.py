"""Messages as USB-MIDI event packets, against the class definition's own table."""

from __future__ import annotations

import random
from pathlib import Path

import mido
import pytest

from tests.firmware.build import SAMPLE
from tests.firmware.console import Console, build_console
from tests.firmware.outside import SIZES, Outside, bytes_of

SAMPLE_TEXT = (SAMPLE / "console_table.h").read_text(encoding="utf-8")


def sample_by(wire: int, usb: int) -> str:
    """The sample console with other outlets."""
    return SAMPLE_TEXT.replace("#define MIDI_WIRE 1", f"#define MIDI_WIRE {wire}").replace(
        "#define MIDI_USB 0", f"#define MIDI_USB {usb}"
    )


@pytest.fixture(scope="module")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Console:
    """The sample console with both outlets."""
    return build_console(tmp_path_factory.mktemp("both"), sample_by(1, 1))


@pytest.fixture
def console(compiled: Console) -> Console:
    """The same, just switched on, its pistons at rest."""
    compiled.switch_on()
    compiled.ports[0] = 0x0F
    return compiled


def test_packet_sizes_are_those_of_the_class_definition(compiled: Console) -> None:
    """Each code index number holds as many MIDI bytes as table 4-1 says; reserved codes and other cables hold none."""
    sizes = [compiled.library.usb_packet_size(head) for head in range(256)]
    assert sizes == [SIZES.get(head, 0) for head in range(256)]


def test_both_outlets_say_the_same(console: Console) -> None:
    """What random playing sends as packets is, message for message, what it sends on the wire.

    mido reads the packets' bytes; a Standard MIDI File reader reads the wire's.
    """
    outside = Outside(console)
    outside.plug()
    console.run(2000)
    console.take()
    outside.packets()
    hands = random.Random(5)
    for _ in range(200):
        console.registers[hands.choice((0, 1, 2, 4))] = hands.getrandbits(8)
        console.ports[0] = hands.getrandbits(6)
        console.counts[9] = hands.randrange(1024)
        console.run(hands.choice((5, 40, 200)))
    console.run(2000)
    data = b"".join(bytes_of(packet) for packet in outside.packets())
    by_wire = console.messages()
    assert [tuple(message.bytes()) for message in mido.parse_all(data)] == by_wire
    assert {message[0] >> 4 for message in by_wire} == {0x8, 0x9, 0xB, 0xC}
    assert len(by_wire) > 300


def test_a_held_key_is_reported_in_two_packets(console: Console) -> None:
    """System exclusive bytes go three to a packet, the last packet saying how many it holds (clause 4, table 4-1)."""
    outside = Outside(console)
    outside.plug()
    console.registers[1] = 0xFF & ~0x20
    console.run(2000)
    packets = outside.packets()
    at = packets.index(bytes((0x04, 0xF0, 0x7D, 0x01)))
    assert packets[at + 1] == bytes((0x07, 0x00, 8 + 5, 0xF7))


@pytest.mark.parametrize(
    ("packet", "counter"),
    [
        (bytes((0x19, 0x90, 36, 100)), "midi_in_ignored"),
        (bytes((0x00, 0x90, 36, 100)), "midi_in_ignored"),
        (bytes((0x09, 0x80, 36, 100)), "midi_in_broken"),
        (bytes((0x0B, 0xB0, 0xF7, 0)), "midi_in_broken"),
        (bytes((0x0F, 0x40, 0, 0)), "midi_in_broken"),
        (bytes((0x09, 0x90, 36, 100)), "midi_in_ignored"),
    ],
)
def test_packets_that_ask_for_nothing_are_counted(console: Console, packet: bytes, counter: str) -> None:
    """Another cable, a reserved code, a code that contradicts its status, a status among data: counted, no answer."""
    outside = Outside(console)
    outside.plug()
    console.run(2000)
    console.take()
    outside.packets()
    outside.send_packet(packet)
    console.run(100)
    assert outside.counter(counter) == 1
    assert outside.packets() == []
    assert console.take() == b""


def test_an_order_by_usb_is_taken_in_pieces(console: Console) -> None:
    """An Identity Request in packets of 3 and 3 bytes is answered by USB alone, in five packets."""
    outside = Outside(console)
    outside.plug()
    console.run(2000)
    console.take()
    outside.packets()
    outside.send_packet(bytes((0x04, 0xF0, 0x7E, 0x7F)))
    outside.send_packet(bytes((0x07, 0x06, 0x01, 0xF7)))
    console.run(100)
    packets = outside.packets()
    assert [packet[0] for packet in packets] == [4, 4, 4, 4, 7]
    assert b"".join(bytes_of(packet) for packet in packets)[:6] == bytes((0xF0, 0x7E, 0x00, 0x06, 0x02, 0x7D))
    assert console.take() == b""


def test_without_an_outlet_nothing_compiles(tmp_path: Path) -> None:
    """A table that has neither outlet is refused, in words."""
    with pytest.raises(AssertionError, match="one of them 1"):
        build_console(tmp_path, sample_by(0, 0))
