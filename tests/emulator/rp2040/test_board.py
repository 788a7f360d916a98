"""The RP2040 board apart from its contacts: restarts, MIDI in, USB through the stand-in of its library, the memory."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from retrofit.firmware.sketch import listed_files
from tests.emulator.build import Image
from tests.emulator.demos import Spoil, spoil_file
from tests.emulator.harness import Chain, Scenario, Seen, cycles, run
from tests.emulator.rp2040.build import build_bare
from tests.emulator.rp2040.consoles import BOARD
from tests.emulator.usb import UsbOrder
from tests.firmware.build import CORE
from tests.firmware.table_text import chain_of_keys

pytestmark = pytest.mark.emulator

REGISTERS = 2
SILENCE = bytes((0xB0, 123, 0))
KEY_ON = bytes((0x90, 36 + 7, 100))
KEY_OFF = bytes((0x80, 36 + 7, 64))
SIZES = {"TICK_US": 500, "SPI_DIVIDER": 32, "POWER_ON_TICKS": 10, "LINK": 0}


@cache
def image(*spoils: Spoil, **sizes: int) -> Image:
    """Compile the firmware with a table of sixteen keys, spoilt as asked."""
    table = chain_of_keys(REGISTERS, 8, **{**SIZES, **sizes}).text()
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "console_table.h").write_text(f"#pragma once\n{table}", encoding="utf-8")
        for file in listed_files(BOARD):
            (folder / Path(file).name).write_bytes((CORE.parent / file).read_bytes())
        for spoil in spoils:
            spoil_file(spoil, folder)
        return build_bare(folder)


def play(built: Image, run_ms: float, key: tuple[tuple[float, int], ...] = (), **more: object) -> Seen:
    """Run it with one key moved at these milliseconds, level 0 being pressed."""
    events = tuple((cycles(ms=ms), "chain", 0, 7, level) for ms, level in key)
    chain = Chain(REGISTERS, initial=(0xFF,) * REGISTERS)
    told = Scenario(built.hex, cycles(ms=run_ms), chain, board=BOARD, events=events, **more)  # type: ignore[arg-type]  # of their types
    return run(told)


def test_a_key_is_heard_on_the_wire() -> None:
    """Silence first, then the key's two messages, and no complaint of any model."""
    seen = play(image(), 100, ((40, 0), (60, 1)))
    assert seen.sent == SILENCE + KEY_ON + KEY_OFF
    assert (seen.problems, seen.baud, len(seen.restarts)) == ({}, 31250, 1)
    assert seen.chain["edgeRaces"] == seen.chain["modeErrors"] == seen.chain["loadsDuringTransfer"] == 0
    assert seen.chain["shortestLoad"] >= cycles(us=0.3)


HANG = Spoil("board.c", "    console_tick();\n", "    console_tick();\n    while (port_tick_counts() || 1) {\n    }\n")
HASTY = Spoil("restart.h", "#define WATCHDOG_US 1000000u", "#define WATCHDOG_US 20000u")
"""Bites after 20 ms in place of a second, so that a run is short."""


def test_a_program_that_hangs_is_started_again() -> None:
    """When its time is over the watchdog resets the chip, and the board silences its channel again."""
    seen = play(image(HANG, HASTY), 60)
    assert [cause for _, cause in seen.restarts] == ["power-on", "watchdog", "watchdog"]
    first, second = (moment for moment, _ in seen.restarts[1:])
    assert cycles(ms=20) <= second - first <= cycles(ms=22)
    assert seen.sent.count(SILENCE) == 3


def test_a_healthy_program_is_left_alone() -> None:
    """Ten times as long, ordinary work brings no restart."""
    assert [cause for _, cause in play(image(HASTY), 200).restarts] == ["power-on"]


SAY_WHY = Spoil(
    "board.c",
    "    tick_begin();\n",
    "    tick_begin();\n    wire_send(port_restart_cause());\n    wire_send((uint8_t)port_watchdog_restarts());\n",
)


@pytest.mark.parametrize(
    ("cause", "code"), [("power-on", 1 | 4), ("external", 2), ("watchdog", 8)], ids=["power-on", "run pin", "watchdog"]
)
def test_the_board_knows_why_it_started(cause: str, code: int) -> None:
    """Power-on and brown-out are one to this chip; restarts by the watchdog are counted, and others are not."""
    seen = play(image(SAY_WHY), 100, resets=((cycles(ms=50), cause),))
    second_life = bytes(byte for moment, byte in seen.midi if moment >= cycles(ms=50))
    assert second_life[:2] == bytes((code, 1 if cause == "watchdog" else 0))


def test_two_restarts_are_counted_as_two() -> None:
    """The count outlives each reset by the watchdog, and power-on clears it."""
    resets = tuple((cycles(ms=ms), cause) for ms, cause in ((40, "watchdog"), (80, "watchdog"), (120, "power-on")))
    seen = play(image(SAY_WHY), 160, resets=resets)
    counts = [
        next(byte for moment, byte in seen.midi[at + 1 :])
        for at, (moment, byte) in enumerate(seen.midi)
        if any(abs(moment - start) < cycles(ms=1) for start, _ in seen.restarts) and byte in (5, 8)
    ]
    assert counts == [0, 1, 2, 0]


def test_an_identity_request_is_answered() -> None:
    """Bytes that come in on GP21 reach the core: it answers the universal request (MIDI 1.0, identity reply)."""
    request = bytes((0xF0, 0x7E, 0x7F, 0x06, 0x01, 0xF7))
    incoming = tuple((cycles(ms=50) + place * cycles(us=320), byte) for place, byte in enumerate(request))
    seen = play(image(), 120, midi_in=incoming)
    assert seen.sent.startswith(SILENCE + bytes((0xF0, 0x7E)))
    assert bytes((0x06, 0x02, 0x7D)) in seen.sent
    assert seen.problems == {}


def packets(seen: Seen) -> list[bytes]:
    """The event packets that the computer took."""
    assert seen.usb is not None
    return [packet for _, _, packet in seen.usb.packets]


def test_a_key_is_heard_by_usb() -> None:
    """By USB alone nothing is on the wire, and the packets are those of the class definition (table 4-1)."""
    seen = play(image(MIDI_WIRE=0, MIDI_USB=1), 240, ((150, 0), (200, 1)))
    assert seen.sent == b""
    assert packets(seen) == [b"\x0b" + SILENCE, b"\x09" + KEY_ON, b"\x08" + KEY_OFF]
    assert seen.problems == {}


def test_a_computer_that_takes_nothing_keeps_no_scan_waiting() -> None:
    """While it stops draining for 300 ms, ticks keep their pace; all messages of the key come in the end."""
    strokes = tuple((150 + 8 * turn, turn % 2) for turn in range(40))
    order = UsbOrder(((cycles(ms=160), "drain", 0), (cycles(ms=460), "drain", 1)))
    seen = play(image(MIDI_WIRE=0, MIDI_USB=1), 520, strokes, usb=order)
    assert [packet[1:] for packet in packets(seen)[1:]] == [KEY_ON, KEY_OFF] * 20
    late = seen.scans["interval"]["max"] - cycles(us=SIZES["TICK_US"])
    assert late < cycles(us=20)
    assert seen.problems == {}


def test_a_computer_that_comes_back_is_told_anew() -> None:
    """Unplugged and plugged in again, it hears silence once more."""
    order = UsbOrder(((cycles(ms=150), "plug", 0), (cycles(ms=170), "plug", 1)))
    seen = play(image(MIDI_WIRE=0, MIDI_USB=1), 320, usb=order)
    assert packets(seen) == [b"\x0b" + SILENCE] * 2


def test_the_link_never_waits() -> None:
    """Bytes on the serial port of a computer that takes nothing stop no scan, and nothing is written without room."""
    order = UsbOrder(((cycles(ms=50), "drain", 0), *((cycles(ms=60 + n), "link", (0x55,) * 64) for n in range(30))))
    seen = play(image(LINK=1), 120, usb=order)
    assert seen.scans["interval"]["max"] - cycles(us=SIZES["TICK_US"]) < cycles(us=20)
    assert seen.problems == {}


STACK_TOP, STACK_BYTES, UNPAINTED = 0x20042000, 2048, 64
SAY_UNUSED = """    console_tick();
    static uint8_t said;
    if (!said) {{
        said = 1;
        volatile uint8_t deep[{size}];
        for (uint16_t i = 0; i != {size}; i++) {{
            deep[i] = (uint8_t)(deep[i] + 1);
        }}
        wire_send((uint8_t)(port_free_memory() >> 8));
        wire_send((uint8_t)port_free_memory());
    }}
"""


@pytest.mark.parametrize("size", [4, 700])
def test_the_memory_that_was_never_used_is_known(size: int) -> None:
    """What the firmware says agrees with the least stack pointer in the emulator, and is never more than that."""
    say = Spoil("board.c", "    console_tick();\n", SAY_UNUSED.format(size=size))
    seen = play(image(say, POWER_ON_TICKS=100), 20)
    unused = seen.sent[-2] << 8 | seen.sent[-1]
    assert 0 <= STACK_BYTES - (STACK_TOP - seen.lowest_stack) - unused <= UNPAINTED
