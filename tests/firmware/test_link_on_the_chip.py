"""What the board link costs on an emulated ATmega2560: cycles a tick, memory, and no scan that begins late."""

from __future__ import annotations

import struct
from functools import cache
from itertools import pairwise

import pytest

from tests.emulator.build import Image
from tests.emulator.demos import Spoil
from tests.emulator.harness import Chain, Event, Scenario, Seen, cycles, run
from tests.emulator.table_image import image_of
from tests.firmware.linked import WORDS, Body, body_of, frame
from tests.firmware.table_text import ConsoleTable, chain_of_keys

pytestmark = pytest.mark.emulator

REGISTERS = 40
LANES_CAPTURED = 8
SETTLED = cycles(ms=320)
BYTE_US = 10 / 38_400 * 1e6
ANSWER_MS = 75
SCAN_BEGINS, SCAN_ENDS, STEP_BEGINS, STEP_ENDS, BEHIND_BEGINS, BEHIND_ENDS, LAST = 0xFF, 0, 0xE0, 0xE1, 0xD0, 0xD1, 0xE2
MARKS = (
    Spoil(
        "link.c", "        link_step();\n", "        PORT_MARK(0xE0);\n        link_step();\n        PORT_MARK(0xE1);\n"
    ),
    Spoil("link.c", "    queues_look();\n    capture", "    PORT_MARK(0xD0);\n    queues_look();\n    capture"),
    Spoil("link.c", "capture_tick();\n}", "capture_tick();\n    PORT_MARK(0xD1);\n}"),
    Spoil("link.c", "    pace_tick();\n}", "    pace_tick();\n    PORT_MARK(0xE2);\n}"),
)
"""A mark costs a cycle or two, and changes nothing else."""


def table(**sizes: int) -> ConsoleTable:
    """320 keys on a chain at half the processor's clock, with a description to be read back."""
    keys = chain_of_keys(REGISTERS, 8, TICK_US=1000, SPI_DIVIDER=2, POWER_ON_TICKS=10, **sizes)
    return ConsoleTable(**{**vars(keys), "description": bytes(7 * n % 256 for n in range(2000))})


@cache
def marked() -> Image:
    """The image with every part of the link, and marks around its work."""
    return image_of(table(LINK=1, CAPTURE_LANES=LANES_CAPTURED, REMAP_ROWS=8), spoils=MARKS)


QUESTIONS = (
    ("WHO", b""),
    ("TEXT", b"\x00\x00\x00"),
    ("DESCRIPTION", struct.pack("<I", 48)),
    ("COUNTERS", b""),
    ("PACE", b""),
    ("REMAP_PUT", struct.pack("<HH", 1, 2)),
    ("REMAP_PUT", struct.pack("<HH", 300, 2)),
    ("REMAP", b"\x00"),
    ("REMAP_KEEP", b""),
    ("CAPTURE", bytes((0, 20))),
    ("CAPTURED", struct.pack("<H", 3)),
    ("REPORT", b""),
    ("PANIC", b""),
    ("CAPTURE_END", b""),
)


def asked(questions: tuple[tuple[str, bytes], ...], events: tuple[Event, ...] = (), ms: float = 0) -> Seen:
    """Ask one question after the other and return what was seen; all must be answered."""
    line: list[tuple[int, int]] = []
    for number, (name, payload) in enumerate(questions):
        begins = SETTLED + cycles(ms=number * ANSWER_MS)
        sent = frame(WORDS[f"LINK_{name}"], payload, number)
        line += [(begins + cycles(us=BYTE_US * (place + 1)), byte) for place, byte in enumerate(sent)]
    until = SETTLED + cycles(ms=max(ms, len(questions) * ANSWER_MS))
    chain = Chain(REGISTERS, initial=(0xFF,) * REGISTERS)
    seen = run(Scenario(marked().hex, until, chain, events=events, link_in=tuple(line), keep_marks=True))
    assert seen.problems == {}
    assert [body.kind for body in answers(seen)] == [WORDS[f"LINK_{name}"] | 0x80 for name, _ in questions]
    return seen


def answers(seen: Seen) -> list[Body]:
    """The answers that came over the link."""
    *frames, rest = bytes(byte for _, byte in seen.link).split(b"\0")
    assert rest == b""
    return [body_of(stuffed) for stuffed in frames]


def spans(seen: Seen, begin: int, end: int) -> list[int]:
    """Cycles between a mark and the next one, where that is `end`."""
    return [
        after - before for (before, first), (after, second) in pairwise(seen.marks) if (first, second) == (begin, end)
    ]


def test_a_step_takes_1000_cycles_at_most_and_no_scan_is_late() -> None:
    """Every question but those that read contacts is answered in such steps; scans keep to their ticks meanwhile."""
    seen = asked(QUESTIONS)
    steps = spans(seen, STEP_BEGINS, STEP_ENDS)
    assert len(steps) > 1000
    assert 500 < max(steps) <= 1000
    begins = [cycle for cycle, value in seen.marks if value == SCAN_BEGINS]
    late = {after - before - cycles(ms=1) for before, after in pairwise(begins[2:])}
    assert max(late) <= 250, "between two ticks a message may be given to the wire, link or no link"


def test_lanes_are_read_in_a_step_and_a_scan() -> None:
    """To show lanes takes a step and the shifting of the chain as far as them, which is at most two quiet scans."""
    seen = asked((("LANES", b"\x00"), ("LANES", b"\x16")))
    scan = max(spans(seen, 1, SCAN_ENDS))
    assert max(spans(seen, STEP_BEGINS, STEP_ENDS)) <= 1000 + 2 * scan


def test_nobody_asking_costs_250_cycles_a_tick_at_most() -> None:
    """Queues looked at, the line looked at, the clock and the pace: all that is done while nobody asks."""
    seen = run(Scenario(marked().hex, SETTLED, Chain(REGISTERS, initial=(0xFF,) * REGISTERS), keep_marks=True))
    behind = max(spans(seen, BEHIND_BEGINS, BEHIND_ENDS)[20:])
    step = max(spans(seen, STEP_BEGINS, STEP_ENDS)[20:])
    last = max(spans(seen, STEP_ENDS, LAST)[20:])
    assert behind + step + last <= 250


def test_eight_lanes_that_bounce_all_at_once_are_captured_within_a_tick() -> None:
    """64 contacts change on every sample while captured: each sample is done well within a tick of a millisecond."""
    changes = tuple(
        (SETTLED + cycles(ms=40 + step), "chain", contact // 8, contact % 8, step % 2)
        for step in range(60)
        for contact in range(8 * LANES_CAPTURED)
    )
    seen = asked((("CAPTURE", bytes((0, 20))),), changes, ms=160)
    worst = max(spans(seen, BEHIND_BEGINS, BEHIND_ENDS))
    assert 3000 < worst <= 12_000


def test_memory_of_the_link() -> None:
    """The link takes 200 bytes of RAM at most without captures, with 8 rows of remapped contacts."""
    without = image_of(table(LINK=0))
    with_link = image_of(table(LINK=1, REMAP_ROWS=8))
    assert 0 < with_link.ram - without.ram <= 200
    assert with_link.flash <= 24 * 1024
