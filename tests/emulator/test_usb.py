"""USB MIDI on the emulated ATmega32U4: enumerated by real requests, drained, not drained, suspended, unplugged."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest

from tests.emulator.build import Image
from tests.emulator.harness import Chain, Event, Scenario, Seen, cycles, run
from tests.emulator.table_image import image_of
from tests.emulator.usb import UsbAction, UsbOrder, UsbSeen
from tests.emulator.usb_descriptors import (
    AUDIO,
    AUDIO_CONTROL,
    BULK,
    EMBEDDED,
    EXTERNAL,
    MIDI_STREAMING,
    Configuration,
    Interface,
    configuration,
    jacks,
    split,
)
from tests.firmware.table_text import chain_of_keys

pytestmark = pytest.mark.emulator

REGISTERS = 8
TABLE = chain_of_keys(REGISTERS, 8, TICK_US=1000, SPI_DIVIDER=8, POWER_ON_TICKS=10, MIDI_WIRE=0, MIDI_USB=1, LINK=1)
GET_DESCRIPTOR = 6
LISTENING_MS = 400
"""By then the computer has configured the board, and the board has said silence and its state."""


@cache
def image() -> Image:
    """The image with 64 keys on a chain."""
    return image_of(TABLE, "atmega32u4")


def play(run_ms: float, events: tuple[Event, ...] = (), actions: tuple[UsbAction, ...] = ()) -> Seen:
    """Run the board at a computer that does `actions`."""
    chain = Chain(REGISTERS, latch=("E", 6), initial=(0xFF,) * REGISTERS)
    order = UsbOrder(actions)
    return run(
        Scenario(image().hex, cycles(ms=run_ms), chain, events=events, board="atmega32u4", usb=order, keep_marks=True)
    )


def usb(seen: Seen) -> UsbSeen:
    """Return what the computer saw; the board must have given no cause for complaint."""
    assert seen.problems == {}
    assert seen.usb is not None
    return seen.usb


@cache
def enumerated() -> UsbSeen:
    """What a computer saw that was plugged in and did nothing else."""
    return usb(play(300))


def descriptor(kind: int, length: int, index: int = 0) -> bytes:
    """Return a descriptor as it was asked for with this length."""
    asked = [
        answer
        for answer in enumerated().answers
        if answer.request[1] == GET_DESCRIPTOR and answer.request[2:4] == bytes((index, kind))
    ]
    return next(answer.data for answer in asked if answer.request[6] | answer.request[7] << 8 == length)


def configured() -> Configuration:
    """Return the configuration taken apart."""
    return configuration(descriptor(2, descriptor(2, 9)[2]))


def the(kind: tuple[int, int, int]) -> Interface:
    """Return the one interface of a class."""
    (found,) = [interface for interface in configured().interfaces if interface.kind == kind]
    return found


def test_the_board_lets_itself_be_enumerated() -> None:
    """Every request is answered, the address is taken, and the board is configured once."""
    assert enumerated().address == 5
    assert len(enumerated().configured_at) == 1
    assert not any(answer.stalled for answer in enumerated().answers)
    assert len(descriptor(1, 18)) == 18


def test_the_configuration_is_as_long_and_has_as_many_parts_as_it_says() -> None:
    """Total length, number of interfaces and of end points agree with what follows (USB 2.0, 9.6.3 and 9.6.5)."""
    found = configured()
    assert found.total_bytes == len(descriptor(2, found.total_bytes))
    assert [interface.number for interface in found.interfaces] == list(range(found.interface_count))
    assert all(len(interface.end_points) == interface.end_point_count for interface in found.interfaces)
    addresses = [end_point.address for interface in found.interfaces for end_point in interface.end_points]
    assert len(addresses) == len(set(addresses))


def test_a_device_of_several_functions_holds_each_together() -> None:
    """The device class is that of associations, and each association has its first interface's class (IAD ECN)."""
    assert tuple(descriptor(1, 18)[4:7]) == (0xEF, 2, 1)
    found = configured()
    held = [number for each in found.associations for number in range(each.first, each.first + each.count)]
    assert held == [interface.number for interface in found.interfaces]
    for each in found.associations:
        assert each.kind[:2] == found.interfaces[each.first].kind[:2]


def test_the_audio_control_interface_names_the_streaming_one() -> None:
    """Its header counts itself alone and lists one interface (USB Audio 1.0, table 4-2; MIDI 1.0, appendix B)."""
    control, streaming = the((AUDIO, AUDIO_CONTROL, 0)), the((AUDIO, MIDI_STREAMING, 0))
    (header,) = control.extra
    assert header == bytes((9, 0x24, 1, 0x00, 0x01, 9, 0, 1, streaming.number))
    assert control.end_points == []


def test_the_streaming_header_counts_header_and_jacks() -> None:
    """Release 1.0, and the length of the header with all jack descriptors (MIDI 1.0, table 6-2)."""
    header, *rest = the((AUDIO, MIDI_STREAMING, 0)).extra
    assert header[2:5] == bytes((1, 0x00, 0x01))
    assert header[5] | header[6] << 8 == len(header) + sum(map(len, rest))
    assert [len(entry) for entry in rest] == [6, 6, 9, 9]


def test_the_jacks_join_the_board_to_the_cable_both_ways() -> None:
    """An IN jack of the other kind feeds each OUT jack; an embedded jack is there each way (tables 6-3, 6-4)."""
    found = jacks(the((AUDIO, MIDI_STREAMING, 0)))
    assert sorted(found.inputs.values()) == sorted(found.outputs.values()) == [EMBEDDED, EXTERNAL]
    assert not set(found.inputs) & set(found.outputs)
    for jack, kind in found.outputs.items():
        (feeding,) = found.fed_by[jack]
        assert {kind, found.inputs[feeding]} == {EMBEDDED, EXTERNAL}


def test_each_end_point_carries_the_embedded_jack_of_its_direction() -> None:
    """Bulk, 64 bytes; OUT carries the embedded IN jack and IN the embedded OUT jack (MIDI 1.0, tables 6-6 and 6-7)."""
    streaming = the((AUDIO, MIDI_STREAMING, 0))
    found = jacks(streaming)
    carried = {
        True: next(jack for jack, kind in found.outputs.items() if kind == EMBEDDED),
        False: next(jack for jack, kind in found.inputs.items() if kind == EMBEDDED),
    }
    for end_point in streaming.end_points:
        to_host = bool(end_point.address & 0x80)
        assert (end_point.attributes & 3, end_point.packet_bytes) == (BULK, 64)
        assert end_point.extra == [bytes((5, 0x25, 1, 1, carried.pop(to_host)))]
    assert carried == {}
    assert {0x7F & end_point.address for end_point in streaming.end_points} == {UsbOrder.midi_out, UsbOrder.midi_in}


def test_a_descriptor_that_is_cut_short_is_noticed() -> None:
    """The parser of these tests refuses a length that does not fit."""
    with pytest.raises(ValueError, match="says 9 bytes; 8 are left"):
        list(split(descriptor(2, 9)[:8]))


def test_a_request_of_the_class_that_is_not_known_is_refused_and_nothing_else_is() -> None:
    """A request to the MIDI interface is answered by a stall (USB 2.0, 9.2.7); the next request is answered again."""
    unknown = (0xA1, 0x81, 0, 0, 3, 0, 1, 0)
    status = (0x80, 0, 0, 0, 0, 0, 2, 0)
    seen = usb(play(320, actions=((cycles(ms=290), "setup", unknown), (cycles(ms=300), "setup", status))))
    refused, answered = seen.answers[-2:]
    assert refused.stalled
    assert (answered.stalled, len(answered.data)) == (False, 2)


def strokes(first_ms: float, count: int, every_ms: float) -> tuple[Event, ...]:
    """Return keys struck one after the other, each held for half of the time to the next but one."""
    events: list[Event] = []
    for turn in range(count):
        key = turn % (8 * REGISTERS)
        for after_ms, level in ((0, 0), (every_ms * 1.5, 1)):
            events.append((cycles(ms=first_ms + turn * every_ms + after_ms), "chain", key // 8, key % 8, level))
    return tuple(sorted(events))


def notes(seen: UsbSeen, from_ms: float = LISTENING_MS) -> list[bytes]:
    """Return the packets that were taken from a moment on."""
    return [packet for _, taken, packet in seen.packets if taken >= cycles(ms=from_ms)]


def sounding(packets: list[bytes]) -> set[bytes]:
    """Follow note on and note off; return what sounds in the end.  Code index numbers: MIDI 1.0 class, table 4-1."""
    on: set[bytes] = set()
    for packet in packets:
        assert packet[0] == packet[1] >> 4
        if packet[0] == 9:
            on.add(packet[2:3])
        elif packet[0] == 8:
            on.discard(packet[2:3])
    return on


def test_what_is_played_arrives_in_packets() -> None:
    """Each stroke is one note on and one note off of cable 0, in order, and nothing goes out by the serial port."""
    seen = play(700, strokes(LISTENING_MS, 40, 4))
    heard = notes(usb(seen))
    assert [packet for packet in heard if packet[0] == 9] == [bytes((9, 0x90, 36 + key, 100)) for key in range(40)]
    assert [packet for packet in heard if packet[0] == 8] == [bytes((8, 0x80, 36 + key, 64)) for key in range(40)]
    assert seen.sent == b""


def scan_interval_us(seen: Seen, from_ms: float, to_ms: float) -> tuple[float, float]:
    """Return the shortest and the longest time from scan to scan between two moments."""
    begins = [
        cycle / 16 for cycle, value in seen.marks if value == 0xFF and cycles(ms=from_ms) <= cycle < cycles(ms=to_ms)
    ]
    gaps = [later - sooner for sooner, later in pairwise(begins)]
    return min(gaps), max(gaps)


def test_a_computer_that_takes_nothing_never_holds_up_a_scan() -> None:
    """For 300 ms nothing is taken while every key is played: the scan period stays; in the end nothing sounds."""
    stall, resume = LISTENING_MS + 50, LISTENING_MS + 350
    actions: tuple[UsbAction, ...] = ((cycles(ms=stall), "drain", 0), (cycles(ms=resume), "drain", 1))
    seen = play(LISTENING_MS + 700, strokes(LISTENING_MS, 250, 1.6), actions)
    taken = usb(seen).packets
    assert not [packet for _, cycle, packet in taken if cycles(ms=stall + 1) < cycle < cycles(ms=resume - 1)]
    least, most = scan_interval_us(seen, stall, resume)
    assert 1000 - 25 <= least <= most <= 1000 + 25
    heard = notes(usb(seen))
    assert len([packet for packet in heard if packet[0] == 9]) < 250
    assert sounding(heard) == set()


def test_a_key_released_while_nothing_is_taken_is_released_afterwards() -> None:
    """Pressed before and released during the stall: its note off comes when the computer drains again."""
    press, stall, release, resume = (cycles(ms=LISTENING_MS + ms) for ms in (0, 20, 60, 120))
    events: tuple[Event, ...] = ((press, "chain", 0, 0, 0), (release, "chain", 0, 0, 1))
    heard = usb(play(LISTENING_MS + 200, events, ((stall, "drain", 0), (resume, "drain", 1)))).packets
    assert [packet for _, taken, packet in heard if press < taken] == [
        bytes((9, 0x90, 36, 100)),
        bytes((8, 0x80, 36, 64)),
    ]
    assert heard[-1][1] >= resume


@pytest.mark.parametrize("kind", ["suspend", "plug"])
def test_a_bus_that_sleeps_or_ends_is_taken_for_away(kind: str) -> None:
    """Nothing is sent meanwhile; once back, the computer hears silence again, and a key still held is muted."""
    away, back = (0, 1) if kind == "plug" else (1, 0)
    times = [cycles(ms=LISTENING_MS + ms) for ms in (20, 60, 100)]
    actions: tuple[UsbAction, ...] = ((times[0], kind, away), (times[2], kind, back))
    events: tuple[Event, ...] = ((times[1], "chain", 0, 0, 0),)
    seen = usb(play(LISTENING_MS + 500, events, actions))
    heard = [packet for _, taken, packet in seen.packets if taken > times[0]]
    assert heard[0] == bytes((0x0B, 0xB0, 123, 0))
    assert b"\x90" not in {packet[1:2] for packet in heard}
    assert len(seen.configured_at) == (2 if kind == "plug" else 1)


def test_setting_1200_baud_and_closing_the_port_enters_the_boot_loader() -> None:
    """The stock core's sign for an upload must reset the chip: the firmware then no longer feeds the watchdog.

    The core asks for 120 ms; the emulated watchdog notices a shorter time only when the one before, 256 ms, is over.
    """
    coding = (0x21, 0x20, 0, 0, 0, 0, 7, 0)
    closed = (0x21, 0x22, 0, 0, 0, 0, 0, 0)
    slow = (0xB0, 0x04, 0, 0, 0, 0, 8)
    seen = play(700, actions=((cycles(ms=300), "setup", coding, slow), (cycles(ms=310), "setup", closed)))
    assert [cause for _, cause in seen.restarts] == ["power-on", "watchdog"]
    assert cycles(ms=310 + 115) < seen.restarts[1][0] < cycles(ms=310 + 256 + 5)


def test_a_cable_pulled_out_in_the_middle_of_a_request_is_got_over() -> None:
    """The stock core waits in its interrupt for the rest of the request; the watchdog's reset ends that, and the board
    is enumerated when it is plugged in again."""
    actions: tuple[UsbAction, ...] = ((cycles(ms=117.2), "plug", 0), (cycles(ms=1000), "plug", 1))
    seen = play(1400, actions=actions)
    assert [cause for _, cause in seen.restarts] == ["power-on", "watchdog"]
    assert len(usb(seen).configured_at) == 1
    assert [packet for _, _, packet in usb(seen).packets] == [bytes((0x0B, 0xB0, 123, 0))]
