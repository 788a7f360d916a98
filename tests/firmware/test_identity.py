"""The Identity Reply, which goes out in parts: a receiver never gets a part of it without its beginning."""

from __future__ import annotations

import ctypes
from dataclasses import replace
from pathlib import Path

import pytest

from tests.firmware.console import Console, build_console
from tests.firmware.outside import Outside
from tests.firmware.table_text import ConsoleTable, chain_of_keys
from tests.firmware.test_midi_in import IDENTITY_REPLY, IDENTITY_REQUEST

SECOND = 4000
SHOE = (0, 9, 0xB0, 11, 0, 0, 0, 3, 0, 1023, 2, (100, 900), (0, 127))
"""A potentiometer on converter channel 9."""

BUFFER_PACKETS = 16
"""What the pretended host's end holds when nobody fetches it."""


def one_status() -> ConsoleTable:
    """Keys whose offs are notes on of velocity 0, so that all that they send has one status."""
    messages = [((0x90, 36 + key, 100), (0x90, 36 + key, 0)) for key in range(8)]
    return replace(chain_of_keys(1, 4), messages=messages)


def ask_by_usb(outside: Outside) -> None:
    """Send the Identity Request as two packets."""
    outside.send_packet(bytes((0x04, *IDENTITY_REQUEST[:3])))
    outside.send_packet(bytes((0x07, *IDENTITY_REQUEST[3:])))


def trill_into_the_reply(console: Console, ticks: int) -> bytes:
    """Ask, trill from the reply's first part on for so many ticks, wire always busy; return what came behind it."""
    console.switch_on()
    console.run(SECOND // 2)
    console.take()
    Outside(console).send(IDENTITY_REQUEST)
    begun = ctypes.c_uint8.in_dll(console.library, "identity_begun")
    while not begun.value:
        console.run()
    for tick in range(ticks):
        console.registers[0] ^= 0x03 if tick % 5 == 0 else 0
        console.run()
    console.run(SECOND)
    return console.take()


def test_a_reply_is_cut_though_running_status_was_given_up_meanwhile(tmp_path: Path) -> None:
    """A trill of a second cuts the reply, and may end just when the status is to be sent anew: the reply begins again.

    MIDI 1.0: data behind a channel message are taken for more of them; parts of a reply would sound as notes.
    """
    console = build_console(tmp_path, one_status())
    for ticks in range(SECOND - 120, SECOND - 70):
        assert trill_into_the_reply(console, ticks).endswith(bytes(IDENTITY_REPLY)), ticks


@pytest.mark.parametrize("wire", [0, 1])
def test_a_reply_to_a_host_that_left_begins_again_for_the_next(tmp_path: Path, wire: int) -> None:
    """The buffer of a host that takes nothing fills up within the reply; after a replugging the reply comes whole."""
    table = replace(chain_of_keys(1, 4, MIDI_USB=1, MIDI_WIRE=wire), channels=[], shoes=[SHOE])
    console = build_console(tmp_path, table)
    outside = Outside(console)
    for left in (1, 2, 3, 4):
        console.switch_on()
        outside.plug()
        console.run(SECOND)
        outside.packets()
        outside.stop_taking()
        for step in range(BUFFER_PACKETS - left):
            console.counts[9] = 150 + 40 * step
            console.run(100)
        ask_by_usb(outside)
        console.run(100)
        outside.plug(plugged=False)
        console.run(100)
        outside.packets()
        outside.stop_taking(stopped=False)
        outside.plug()
        console.run(SECOND)
        exclusive = [message for message in outside.messages() if message[0] != 0xB0]
        assert exclusive == [IDENTITY_REPLY], left


def test_a_reply_owed_to_a_host_that_takes_nothing_keeps_no_note_waiting(tmp_path: Path) -> None:
    """Nothing is left to be done meanwhile, so that a note leaves within its scan; the reply comes in the end."""
    console = build_console(tmp_path, chain_of_keys(2, 4, MIDI_USB=1))
    outside = Outside(console)
    outside.plug()
    console.run(SECOND)
    outside.stop_taking()
    for _ in range(BUFFER_PACKETS):
        console.registers[0] ^= 0x03
        console.run(SECOND // 8)
    assert outside.counter("outlets_usb_refused") == 1
    ask_by_usb(outside)
    console.run(100)
    assert ctypes.c_uint8.in_dll(console.library, "pump_pending").value == 0
    outside.stop_taking(stopped=False)
    console.run(SECOND)
    assert IDENTITY_REPLY in outside.messages()
