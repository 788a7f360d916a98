"""The ports of the AVR boards beside the scan: board link, MIDI in, the non-volatile store, memory, restarts."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from functools import cache
from itertools import pairwise

import pytest

from retrofit.firmware.link.frames import Body, FrameReader, frame_of
from tests.emulator.build import Image
from tests.emulator.demos import Spoil
from tests.emulator.harness import Chain, Event, Scenario, Seen, cycles, run
from tests.emulator.table_image import image_of
from tests.emulator.usb import UsbAction, UsbOrder
from tests.firmware.table_text import chain_of_keys

pytestmark = pytest.mark.emulator

REGISTERS = 2
WHO, REMAP, REMAP_PUT, REMAP_KEEP, ANSWER = 0x01, 0x20, 0x21, 0x22, 0x80
LINK_BYTE_US = 10 / 38_400 * 1e6
MIDI_BYTE_US = 320
WHO_LAYOUT = "<7BHBBHI4BHI"
CHIPS = {"atmega2560": 2, "atmega32u4": 3}
LATCHES = {"atmega2560": ("B", 0), "atmega32u4": ("E", 6)}
RAM_LAST = {"atmega2560": 0x21FF, "atmega32u4": 0x0AFF}
DATA_FIRST = {"atmega2560": 0x200, "atmega32u4": 0x100}


DEEP = Spoil(
    "board.c",
    "    memory_begin();\n",
    "    volatile uint8_t deep[1100];\n    for (uint16_t i = 0; i != 1100; i++) {\n        deep[i] = 1;\n    }\n"
    "    memory_begin();\n",
)
"""A stack that reaches below the kilobyte that is watched."""


@cache
def image(board: str, spoils: tuple[Spoil, ...] = ()) -> Image:
    """Return an image of sixteen keys with the board link."""
    usb = int(board == "atmega32u4")
    sizes = {"LINK": 1, "REMAP_ROWS": 4, "MIDI_USB": usb, "MIDI_WIRE": 1 - usb}
    return image_of(chain_of_keys(REGISTERS, 8, TICK_US=1000, SPI_DIVIDER=8, POWER_ON_TICKS=10, **sizes), board, spoils)


def ask(
    board: str, questions: Sequence[tuple[float, Body]], run_ms: float, spoils: tuple[Spoil, ...] = (), **more: object
) -> tuple[Seen, list[Body]]:
    """Ask a board at these moments, in milliseconds, and return what was seen and the answers."""
    frames = [(at, frame_of(body)) for at, body in questions]
    serial = tuple(
        (cycles(ms=at, us=LINK_BYTE_US * (turn + 1)), byte) for at, frame in frames for turn, byte in enumerate(frame)
    )
    by_usb: tuple[UsbAction, ...] = tuple((cycles(ms=at), "link", tuple(frame)) for at, frame in frames)
    usb = board == "atmega32u4"
    scenario = Scenario(
        image(board, spoils).hex,
        cycles(ms=run_ms),
        Chain(REGISTERS, latch=LATCHES[board], initial=(0xFF,) * REGISTERS),
        board=board,
        usb=UsbOrder(by_usb if usb else ()),
        link_in=() if usb else serial,
        keep_marks=True,
        **more,  # type: ignore[arg-type]  # fields of a scenario, each of its own type
    )
    seen = run(scenario)
    assert seen.problems == {}
    said = bytes(byte for _, byte in seen.link) if seen.usb is None else b"".join(part for _, part in seen.usb.link)
    reader = FrameReader()
    answers = list(reader.take(said))
    assert reader.noise_bytes == 0
    return seen, answers


@pytest.mark.parametrize("board", CHIPS)
def test_the_board_says_who_it_is(board: str) -> None:
    """Asked over its link, each chip answers with itself, its power-on, and memory between its data and its stack."""
    seen, (answer,) = ask(board, [(300, Body(WHO, 7))], 400)
    assert (answer.kind, answer.sequence) == (WHO | ANSWER, 7)
    fields = struct.unpack(WHO_LAYOUT, answer.payload)
    assert (fields[1], fields[3], fields[7], fields[8]) == (CHIPS[board], REGISTERS, 1000, 2)
    free, cause, restarts, seconds = fields[10], fields[15], fields[16], fields[17]
    assert (cause, restarts, seconds) == (1, 0, 0)
    behind_data = DATA_FIRST[board] + image(board).ram
    # A buffer that was laid out on the stack and not filled shows the pattern still.
    assert 0 <= free - (seen.lowest_stack - behind_data) <= 64


def test_memory_left_is_what_the_stack_has_never_reached() -> None:
    """The stack never lies outside memory, and the answer is less than the memory beside the data."""
    seen, (answer,) = ask("atmega2560", [(300, Body(WHO, 1))], 350)
    free = struct.unpack(WHO_LAYOUT, answer.payload)[10]
    beside = RAM_LAST["atmega2560"] + 1 - DATA_FIRST["atmega2560"] - image("atmega2560").ram
    assert 0 < free < beside - 20
    assert seen.lowest_stack > DATA_FIRST["atmega2560"] + image("atmega2560").ram


@pytest.mark.parametrize("board", CHIPS)
def test_a_stack_deeper_than_what_is_watched_leaves_nothing_known(board: str) -> None:
    """A firmware whose stack takes more than a kilobyte says that no memory is known to be left."""
    _, (answer,) = ask(board, [(300, Body(WHO, 1))], 400, (DEEP,))
    assert struct.unpack(WHO_LAYOUT, answer.payload)[10] == 0


@pytest.mark.parametrize("board", CHIPS)
def test_what_is_put_into_the_store_is_there_after_a_reset(board: str) -> None:
    """A contact that plays for another, once kept, still does after a reset from outside: the EEPROM holds it."""
    put, keep = Body(REMAP_PUT, 2, struct.pack("<HH", 0, 1)), Body(REMAP_KEEP, 3)
    first = Body(REMAP, 4, bytes((0,)))
    questions = [(300, put), (330, keep), (1100, first)]
    _, answers = ask(board, questions, 1200, resets=((cycles(ms=700), "external"),))
    assert [answer.kind for answer in answers] == [REMAP_PUT | ANSWER, REMAP_KEEP | ANSWER, REMAP | ANSWER]
    assert struct.unpack("<HH", answers[-1].payload[3:7]) == (0, 1)


@pytest.mark.parametrize("board", CHIPS)
def test_what_is_not_kept_is_gone_after_a_reset(board: str) -> None:
    """The same without keeping it: the list is empty afterwards."""
    put, first = Body(REMAP_PUT, 2, struct.pack("<HH", 0, 1)), Body(REMAP, 4, bytes((0,)))
    _, answers = ask(board, [(300, put), (1100, first)], 1200, resets=((cycles(ms=700), "external"),))
    assert struct.unpack("<HH", answers[-1].payload[3:7]) == (0xFFFF, 0xFFFF)


def test_a_question_does_not_move_the_scan() -> None:
    """While the link is asked again and again the time from scan to scan stays within 25 µs of the tick."""
    questions = [(200 + 25 * turn, Body(WHO, turn)) for turn in range(12)]
    seen, answers = ask("atmega2560", questions, 520)
    assert len(answers) == 12
    begins = [cycle for cycle, value in seen.marks if value == 0xFF and cycle > cycles(ms=200)]
    gaps = [later - sooner for sooner, later in pairwise(begins)]
    assert cycles(us=975) <= min(gaps) <= max(gaps) <= cycles(us=1025)


IDENTITY = bytes((0xF0, 0x7E, 0x7F, 0x06, 0x01, 0xF7))
"""Identity Request to every device (MIDI 1.0, universal non-real-time system exclusive)."""


def listening_to(data: bytes, at_ms: float, events: tuple[Event, ...] = ()) -> Seen:
    """Let bytes come in at the MIDI input of the ATmega2560."""
    return run(
        Scenario(
            image("atmega2560").hex,
            cycles(ms=at_ms + 100),
            Chain(REGISTERS, initial=(0xFF,) * REGISTERS),
            events=events,
            midi_in=tuple((cycles(ms=at_ms, us=MIDI_BYTE_US * (turn + 1)), byte) for turn, byte in enumerate(data)),
        )
    )


def test_bytes_at_the_midi_input_are_heard() -> None:
    """An Identity Request on the receiver's pin is answered by an Identity Reply on the transmitter's."""
    seen = listening_to(IDENTITY, 100)
    assert seen.problems == {}
    reply = seen.sent[seen.sent.index(0x7E) - 1 :]
    assert reply[:2] + reply[3:5] == bytes((0xF0, 0x7E, 0x06, 0x02))
    assert reply[-1] == 0xF7


def test_a_flood_at_the_midi_input_is_taken_without_a_gap() -> None:
    """Active sensing without a pause for 90 ms: no byte is lost in the receiver, and keys still sound."""
    stroke: tuple[Event, ...] = ((cycles(ms=150), "chain", 0, 0, 0), (cycles(ms=170), "chain", 0, 0, 1))
    seen = listening_to(bytes([0xFE] * 280), 100, stroke)
    assert seen.problems == {}
    assert seen.sent[-6:] == bytes((0x90, 36, 100, 0x80, 36, 64))
