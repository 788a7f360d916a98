"""A console on this machine whose board link is asked: frames by the cobs package, checks by the standard library."""

from __future__ import annotations

import binascii
import ctypes
import re
import struct
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from cobs import cobs

from tests.firmware.build import CORE
from tests.firmware.console import Console, build_console
from tests.firmware.table_text import ConsoleTable

Number = type[ctypes.c_uint8] | type[ctypes.c_uint16] | type[ctypes.c_uint32]
CRC_START = 0xFFFF
TICKS_FOR_AN_ANSWER = 80
"""More than a question and an answer of the greatest length take on the pretended line."""


def words() -> Mapping[str, int]:
    """Every number that link_words.h gives a name to."""
    text = (CORE / "link_words.h").read_text(encoding="utf-8")
    found = re.findall(r"(?:#define (?=LINK_\w+ [0-9])|(?<=[\s{]))(LINK_\w+)(?: =)? (0x[0-9A-F]+|\d+)\b", text)
    return {str(name): int(value, 0) for name, value in found}


WORDS = words()


@dataclass(frozen=True)
class Body:
    """What a frame says."""

    version: int
    kind: int
    sequence: int
    payload: bytes


def sealed(content: bytes) -> bytes:
    """The content with its check behind it."""
    return content + struct.pack("<H", binascii.crc_hqx(content, CRC_START))


def frame(kind: int, payload: bytes = b"", sequence: int = 1, version: int = 1) -> bytes:
    """A whole frame as it goes over the line."""
    return bytes(cobs.encode(sealed(bytes((version, kind, sequence)) + payload))) + b"\0"


def body_of(stuffed: bytes) -> Body:
    """The body of a frame without its final zero; its check must be right."""
    content = cobs.decode(stuffed)
    assert content == sealed(content[:-2])
    return Body(content[0], content[1], content[2], content[3:-2])


class LinkedConsole:
    """A console and the computer that asks it; every question has the next sequence number."""

    def __init__(self, console: Console) -> None:
        """Begin with a console that is switched on."""
        self.console = console
        self.core = console.core
        self.store = (ctypes.c_uint8 * 1024).in_dll(self.core, "host_store")
        self.wear = (ctypes.c_uint32 * 1024).in_dll(self.core, "host_store_wear")
        self.sequence = 0

    def number(self, name: str, kind: Number = ctypes.c_uint32) -> ctypes.c_uint8 | ctypes.c_uint16 | ctypes.c_uint32:
        """A variable of the pretended board or the core, by its name in C."""
        return kind.in_dll(self.core, name)

    def give(self, content: bytes) -> None:
        """Put bytes on the line to the board."""
        assert self.core.host_link_give(content, len(content)) == len(content)

    def heard(self) -> bytes:
        """The bytes that the board has sent since the last call."""
        room = ctypes.create_string_buffer(4096)
        count = self.core.host_link_take(room, 4096)
        return room.raw[:count]

    def bodies(self, ticks: int = TICKS_FOR_AN_ANSWER) -> list[Body]:
        """What the board says in so many ticks, frame by frame; nothing may be left over."""
        self.console.run(ticks)
        *frames, rest = self.heard().split(b"\0")
        assert rest == b""
        return [body_of(stuffed) for stuffed in frames]

    def exchange(self, kind: int, payload: bytes = b"") -> Body:
        """Ask once; exactly one answer must come, with the sequence number of the question."""
        self.sequence = (self.sequence + 1) % 256
        self.give(frame(kind, payload, self.sequence))
        (body,) = self.bodies()
        assert (body.version, body.sequence) == (WORDS["LINK_VERSION"], self.sequence)
        return body

    def ask(self, name: str, payload: bytes = b"") -> bytes:
        """The payload of the answer to a question by its name; it must not be refused."""
        kind = WORDS[f"LINK_{name}"]
        body = self.exchange(kind, payload)
        assert body.kind == kind | WORDS["LINK_ANSWER"], f"refused: {body.payload.hex(' ')}"
        return body.payload

    def refusal(self, name: str, payload: bytes = b"") -> str:
        """The name of the reason for which a question is refused; it must be."""
        kind = WORDS[f"LINK_{name}"]
        body = self.exchange(kind, payload)
        assert (body.kind, body.payload[0], len(body.payload)) == (WORDS["LINK_REFUSED"], kind, 2)
        return reason_name(body.payload[1])


REASONS = (
    "OTHER_VERSION",
    "UNKNOWN_KIND",
    "WRONG_LENGTH",
    "OUT_OF_RANGE",
    "NOT_HERE",
    "BUSY",
    "NOT_AT_REST",
    "FULL",
    "OTHER_DUTY",
    "TOO_OFTEN",
    "NOT_RUNNING",
)


def reason_name(number: int) -> str:
    """The name of a reason by its number in link_words.h."""
    return next(name for name in REASONS if WORDS[f"LINK_{name}"] == number)


def build_linked(folder: Path, table: ConsoleTable | str, *, patched: Path | None = None) -> LinkedConsole:
    """Compile a table whose LINK is 1, and switch the console on."""
    return LinkedConsole(build_console(folder, table, patched=patched))


COUNTS = {
    "LINK_MOST_NOTES", "LINK_MOST_PISTONS", "LINK_MOST_STOPS", "LINK_OVERFLOWED", "LINK_SHOES_REPLACED",
    "LINK_WATCHDOG_RESTARTS", "LINK_USB_REFUSED", "LINK_BAD_FRAMES", "LINK_MIDI_IN_ERRORS", "LINK_BUS_FAILURES",
    "LINK_BUS_LATE", "LINK_STORE_WRITES", "LINK_SHOE_FAULTS", "LINK_STROBE_FAULTS", "LINK_STROBE_SILENCES",
    "LINK_CHATTERS", "LINK_CHATTERER",
}  # fmt: skip


def counters(linked: LinkedConsole) -> dict[str, int]:
    """What the board counts, by the names of the counts; those it does not know are left out."""
    known, *values = struct.unpack(f"<I{WORDS['LINK_COUNTS']}H", linked.ask("COUNTERS"))
    named = {name: value for name, value in WORDS.items() if name in COUNTS}
    return {name[5:]: values[number] for name, number in named.items() if known >> number & 1}
