"""What a console exchanges with the outside besides its wire out: USB packets both ways, and bytes that come in."""

from __future__ import annotations

import ctypes

from tests.firmware.console import Console
from tests.firmware.midi_file import Message

Packet = bytes

SIZES = {
    0x2: 2,
    0x3: 3,
    0x4: 3,
    0x5: 1,
    0x6: 2,
    0x7: 3,
    0x8: 3,
    0x9: 3,
    0xA: 3,
    0xB: 3,
    0xC: 2,
    0xD: 2,
    0xE: 3,
    0xF: 1,
}
"""MIDI bytes by code index number (USB Device Class Definition for MIDI Devices 1.0, table 4-1); 0, 1 are reserved."""

EXCLUSIVE_CODES = {0x4, 0x5, 0x6, 0x7}


class Outside:
    """The computer at the other end of a console's USB lead, and a sender on its MIDI input."""

    def __init__(self, console: Console) -> None:
        """Look at the pretended board of a console."""
        self._core = console.library
        self._plugged = ctypes.c_uint32.in_dll(self._core, "host_usb_plugged")
        self._stuck = ctypes.c_uint32.in_dll(self._core, "host_usb_stuck")
        self._heard = (ctypes.c_uint8 * 4 * 16384).in_dll(self._core, "host_usb_heard")
        self._count = ctypes.c_uint32.in_dll(self._core, "host_usb_heard_count")

    def plug(self, plugged: bool = True) -> None:
        """Plug the lead in, or pull it."""
        self._plugged.value = int(plugged)

    def stop_taking(self, stopped: bool = True) -> None:
        """Let the host take no packets any more, or let it take them again."""
        self._stuck.value = int(stopped)

    def packets(self) -> list[Packet]:
        """Packets that the host has taken since the last call."""
        taken = [bytes(packet) for packet in self._heard[: self._count.value]]
        self._count.value = 0
        return taken

    def messages(self) -> list[Message]:
        """The same as whole messages."""
        return messages_of(self.packets())

    def send_packet(self, packet: Packet) -> None:
        """Send a packet to the console."""
        assert self._core.host_usb_give((ctypes.c_uint8 * 4)(*packet))

    def send(self, data: bytes) -> None:
        """Send bytes to the console's MIDI input."""
        for byte in data:
            assert self._core.host_wire_in_give(ctypes.c_uint8(byte))

    def counter(self, name: str) -> int:
        """A counter of the firmware, by its name in the core."""
        return ctypes.c_uint16.in_dll(self._core, name).value


def bytes_of(packet: Packet) -> bytes:
    """The MIDI bytes of a packet, whose cable must be 0 and whose unused bytes must be 0."""
    size = SIZES[packet[0]]
    assert packet[1 + size :] == bytes(3 - size), packet.hex()
    return packet[1 : 1 + size]


def messages_of(packets: list[Packet]) -> list[Message]:
    """Whole messages; the code of each channel message must be the upper half of its status (table 4-1).

    A system exclusive message that another status cuts short is dropped, as receivers do (MIDI 1.0).
    """
    messages: list[Message] = []
    exclusive = b""
    for packet in packets:
        data = bytes_of(packet)
        if packet[0] in EXCLUSIVE_CODES:
            exclusive = data if data[0] == 0xF0 else exclusive + data
            assert (data[-1] == 0xF7) == (packet[0] != 0x4), packet.hex()
            if data[-1] == 0xF7:
                messages.append(tuple(exclusive))
                exclusive = b""
        else:
            assert packet[0] == data[0] >> 4, packet.hex()
            messages.append(tuple(data))
            exclusive = b""
    return messages
