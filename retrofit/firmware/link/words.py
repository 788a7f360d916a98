"""The words of the board link, number for number those of `firmware_templates/core/link_words.h`."""

from __future__ import annotations

from enum import IntEnum, IntFlag

PROTOCOL = 1
HEAD_BYTES = 3
CHECK_BYTES = 2
PAYLOAD_BYTES_MAX = 56
BODY_BYTES_MAX = HEAD_BYTES + PAYLOAD_BYTES_MAX + CHECK_BYTES
ANSWER = 0x80
REFUSAL = 0xFF
NONE_8 = 0xFF
NONE_16 = 0xFFFF
BINS = 8
"""Of the histogram of bounces: none, then each twice as long as the one before, the last without end."""


class Kind(IntEnum):
    """What a board can be asked."""

    WHO = 0x01
    TEXT = 0x02
    DESCRIPTION = 0x03
    LANES = 0x04
    SHOES = 0x05
    SHOES_ANEW = 0x06
    COUNTERS = 0x07
    PACE = 0x08
    PACE_ANEW = 0x09
    CAPTURE = 0x10
    CAPTURED = 0x11
    CAPTURE_END = 0x12
    REMAP = 0x20
    REMAP_PUT = 0x21
    REMAP_KEEP = 0x22
    REMAP_CLEAR = 0x23
    PANIC = 0x30
    REPORT = 0x31

    @property
    def words(self) -> str:
        """What is asked, for people."""
        return _WORDS[self]


_WORDS = {
    Kind.WHO: "who are you",
    Kind.TEXT: "what are you called",
    Kind.DESCRIPTION: "what is your job description",
    Kind.LANES: "how do the contacts stand",
    Kind.SHOES: "how do the shoes stand",
    Kind.SHOES_ANEW: "begin anew with the ends of the shoes",
    Kind.COUNTERS: "what have you counted",
    Kind.PACE: "how long do your scans take",
    Kind.PACE_ANEW: "begin anew with the scan times",
    Kind.CAPTURE: "capture the bounce of these contacts",
    Kind.CAPTURED: "what has been captured",
    Kind.CAPTURE_END: "end the capture",
    Kind.REMAP: "which contacts play in place of others",
    Kind.REMAP_PUT: "let this contact play in place of another",
    Kind.REMAP_KEEP: "keep the list of contacts that play in place of others",
    Kind.REMAP_CLEAR: "empty the list of contacts that play in place of others",
    Kind.PANIC: "silence everything",
    Kind.REPORT: "say again how stops and shoes stand",
}


class Reason(IntEnum):
    """Why a board refuses."""

    OTHER_VERSION = 1
    UNKNOWN_KIND = 2
    WRONG_LENGTH = 3
    OUT_OF_RANGE = 4
    NOT_HERE = 5
    BUSY = 6
    NOT_AT_REST = 7
    FULL = 8
    OTHER_DUTY = 9
    TOO_OFTEN = 10
    NOT_RUNNING = 11


_BUILD_AGAIN = "build the sketch with this version of the program and load it"
REFUSALS: dict[int, tuple[str, str]] = {
    Reason.OTHER_VERSION: ("it speaks another version of the link", _BUILD_AGAIN),
    Reason.UNKNOWN_KIND: ("it does not know the question", _BUILD_AGAIN),
    Reason.WRONG_LENGTH: ("it takes the question to have another length", _BUILD_AGAIN),
    Reason.OUT_OF_RANGE: ("it has no such contact, shoe or row", "compare the board with the job file first"),
    Reason.NOT_HERE: ("it was built without that", "a board with more memory can be built with it"),
    Reason.BUSY: ("it is busy with what was asked before", "wait a moment and start the command again"),
    Reason.NOT_AT_REST: ("a contact that this is about is on", "release every key and control, and start again"),
    Reason.FULL: ("its list is full", "clear the list, or wire the contacts as they should be"),
    Reason.OTHER_DUTY: (
        "one of the two contacts sends nothing, or one is a key and the other is none",
        "name two contacts of one sort: two keys, two pistons, two stops",
    ),
    Reason.TOO_OFTEN: ("it writes its memory seldom, to spare it", "start the command again in five minutes"),
    Reason.NOT_RUNNING: ("no capture is running", "the board was started anew meanwhile; start the command again"),
}
"""For each reason: what was found, and the remedy."""


class Chip(IntEnum):
    """What the firmware was compiled for."""

    UNKNOWN = 0
    HOST = 1
    ATMEGA2560 = 2
    ATMEGA32U4 = 3
    RP2040 = 4


class Flag(IntFlag):
    """How the board stands."""

    CAPTURING = 0x01
    FOREIGN = 0x02


class Text(IntEnum):
    """The texts of a board."""

    JOB_NAME = 0
    JOB_DIGEST = 1
    JOB_REVISION = 2


class Store(IntEnum):
    """How the contacts that play in place of others stand to those that are kept over a restart."""

    EMPTY = 0
    KEPT = 1
    DIFFERS = 2
    WRITING = 3
    FAILED = 4


class Count(IntEnum):
    """What a board counts."""

    MOST_NOTES = 0
    MOST_PISTONS = 1
    MOST_STOPS = 2
    OVERFLOWED = 3
    SHOES_REPLACED = 4
    WATCHDOG_RESTARTS = 5
    USB_REFUSED = 6
    BAD_FRAMES = 7
    MIDI_IN_ERRORS = 8
    BUS_FAILURES = 9
    BUS_LATE = 10
    STORE_WRITES = 11
    SHOE_FAULTS = 12
    STROBE_FAULTS = 13
    STROBE_SILENCES = 14
    CHATTERS = 15
    CHATTERER = 16
