"""The board link asked: who the board is, what it sees, what it counts, and what it refuses."""

from __future__ import annotations

import ctypes
import struct
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.firmware.build import compile_host, put_table
from tests.firmware.console import Console, build_console
from tests.firmware.linked import WORDS, LinkedConsole, build_linked, counters, frame
from tests.firmware.table_text import ConsoleTable, chain_of_keys

NONE_16 = 0xFFFF
DESCRIPTION = bytes((37 * n + 11) % 256 for n in range(1003))
"""Invented bytes; what they mean is no matter of the link."""


@pytest.fixture
def linked(sample: Console) -> LinkedConsole:
    """The sample console past its start, silent, with its matrix wired."""
    sample.ports[0] = 0x0F
    for row, mask in enumerate((0x01, 0x02)):
        sample.rows[row].port, sample.rows[row].mask, sample.rows[row].columns = 10, mask, 2
        sample.rows[row].settle_us = 10
    sample.run(400)
    sample.take()
    return LinkedConsole(sample)


def test_the_board_says_who_it_is(linked: LinkedConsole) -> None:
    """The numbers of the table, of the chip and of the restart stand in the answer in their order."""
    linked.number("host_free_memory", ctypes.c_uint16).value = 0x1234
    linked.number("host_restart_cause", ctypes.c_uint8).value = 8
    linked.number("host_watchdog_restarts", ctypes.c_uint16).value = 3
    answer = linked.ask("WHO")
    assert len(answer) == WORDS["LINK_WHO_BYTES"]
    assert struct.unpack("<7BHBBHIBBBBHI", answer) == (
        3, WORDS["LINK_CHIP_HOST"], 0, 9, 7, 7, 3, 250, 2, 1, 0x1234, 0, 2, 4, 0, 8, 3, 0,
    )  # fmt: skip


def test_seconds_are_counted_from_the_start(sample: Console) -> None:
    """4,000 ticks of 250 microseconds are a second."""
    linked = LinkedConsole(sample)
    sample.run(8_100)
    assert linked.ask("WHO")[-4:] == struct.pack("<I", 2)


@pytest.mark.parametrize(("which", "text"), [("JOB_NAME", b"sample"), ("JOB_DIGEST", b"none"), ("JOB_REVISION", b"0")])
def test_the_board_says_its_names(linked: LinkedConsole, which: str, text: bytes) -> None:
    """Each text is told from an offset on, with its whole length; behind its end nothing comes."""
    number = WORDS[f"LINK_{which}"]
    for offset in (0, 1, len(text), 500, 65535):
        answer = linked.ask("TEXT", struct.pack("<BH", number, offset))
        assert answer == struct.pack("<BHH", number, offset, len(text)) + text[offset:]


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory) -> LinkedConsole:
    """A console of one register that keeps a description."""
    table = chain_of_keys(1, 8, LINK=1)
    table = ConsoleTable(**{**vars(table), "description": DESCRIPTION})
    return build_linked(tmp_path_factory.mktemp("described"), table)


def test_the_description_is_read_back_piece_by_piece(described: LinkedConsole) -> None:
    """Asked from piece to piece until none comes, the board gives back every byte of its table."""
    described.console.switch_on()
    found = b""
    while True:
        answer = described.ask("DESCRIPTION", struct.pack("<I", len(found)))
        assert answer[:4] == struct.pack("<I", len(found))
        if len(answer) == 4:
            break
        found += answer[4:]
    assert found == DESCRIPTION
    assert struct.unpack_from("<I", described.ask("WHO"), 13) == (len(DESCRIPTION),)


@given(offset=st.integers(0, 1100) | st.integers(0, 2**32 - 1))
def test_a_description_has_nothing_behind_its_end(described: LinkedConsole, offset: int) -> None:
    """Whatever the offset, what comes is that part of the description, and nothing else."""
    described.console.switch_on()
    size = WORDS["LINK_DESCRIPTION_BYTES"]
    assert described.ask("DESCRIPTION", struct.pack("<I", offset))[4:] == DESCRIPTION[offset : offset + size]


def test_every_input_is_seen_as_it_is(linked: LinkedConsole) -> None:
    """Chain, matrix and port: the level just read, the debounced state, and what is muted, lane by lane."""
    console = linked.console
    console.registers[1] = 0b1111_1010
    console.registers[4] = 0b1011_1111
    console.rows[1].closed = 0b0000_0110
    console.ports[0] = 0x0F & ~0x08
    console.run(50)
    console.registers[0] = 0x7F
    answer = linked.ask("LANES", b"\x00")
    assert answer[:2] == bytes((0, 9))
    lanes = [tuple(answer[2 + 3 * n : 5 + 3 * n]) for n in range(9)]
    assert lanes[0] == (0x7F, 0x80, 0)
    assert lanes[1] == (0b1111_1010, 0b0000_0101, 0)
    assert lanes[3] == (0b1011_1111, 0b0100_0000, 0)
    assert lanes[6:9] == [(0xFF, 0, 0), (0b1111_1001, 0b0000_0110, 0), (0x07, 0b0000_1000, 0)]


def test_a_level_is_shown_before_the_debounce_believes_it(linked: LinkedConsole) -> None:
    """A contact of the counted family that has moved just now is shown by its level, and its state is the old one."""
    console = linked.console
    linked.give(frame(WORDS["LINK_LANES"], b"\x02", 9))
    while linked.core.host_link_waiting():
        console.run(1)
    console.registers[2] = 0x00
    console.run(1)
    (body,) = linked.bodies()
    assert body.payload[2:5] == bytes((0x00, 0x00, 0))


def test_keys_held_at_the_start_are_shown_as_muted(sample: Console) -> None:
    """A key that is on at power-on is on and muted, until it is released."""
    linked = LinkedConsole(sample)
    sample.registers[0] = 0xFE
    sample.run(400)
    assert linked.ask("LANES", b"\x00")[2:5] == bytes((0xFE, 1, 1))
    sample.registers[0] = 0xFF
    sample.run(50)
    assert linked.ask("LANES", b"\x00")[2:5] == bytes((0xFF, 0, 0))


def test_many_lanes_are_shown_in_parts(tmp_path: Path) -> None:
    """As many lanes as fit an answer come from each first lane; every register is read in its place."""
    linked = build_linked(tmp_path, chain_of_keys(20, 8, LINK=1))
    for register in range(20):
        linked.console.registers[register] = 7 * register
    most = WORDS["LINK_LANES_MOST"]
    for first in (0, 1, 17, 19):
        answer = linked.ask("LANES", bytes((first,)))
        count = min(20 - first, most)
        assert answer[:2] == bytes((first, count))
        assert list(answer[2::3]) == [7 * register for register in range(first, first + count)]


def test_a_shoe_is_shown_with_the_ends_of_its_travel(linked: LinkedConsole) -> None:
    """Counts, value, lowest and highest of a shoe on a converter; a stepped one has a value alone."""
    console = linked.console
    for counts in (300, 700, 200, 500):
        console.counts[9] = counts
        console.run(60)
    answer = linked.ask("SHOES", b"\x00")
    assert answer[:2] == bytes((0, 3))
    shoes = [struct.unpack_from("<4H", answer, 2 + 8 * n) for n in range(3)]
    assert shoes[0] == (500, 32, 0, 700)
    assert shoes[1] == (NONE_16, 0, NONE_16, NONE_16)
    assert shoes[2] == (NONE_16, NONE_16, NONE_16, NONE_16)


def test_the_ends_of_a_shoe_start_anew(linked: LinkedConsole) -> None:
    """On order the lowest and highest are forgotten, and found again from then on."""
    linked.console.counts[9] = 600
    linked.console.run(60)
    linked.ask("SHOES_ANEW")
    linked.console.run(60)
    assert struct.unpack_from("<4H", linked.ask("SHOES", b"\x00"), 2)[2:] == (600, 600)


def test_panic_and_report_are_passed_on(linked: LinkedConsole) -> None:
    """A panic silences a sounding key and each channel; a report tells the stops again."""
    console = linked.console
    console.registers[0] = 0xFE
    console.run(50)
    console.take()
    linked.ask("PANIC")
    console.run(3000)
    said = console.messages()
    assert (0x80, 36, 64) in said
    assert {(0xB0 | channel, 123, 0) for channel in (0, 1, 4)} <= set(said)
    console.run(8000)
    console.take()
    linked.ask("REPORT")
    console.run(8000)
    assert {(0xB2, controller, 0) for controller in range(20, 28)} <= set(console.messages())


@pytest.mark.parametrize(
    ("kind", "payload", "reason"),
    [
        (0x00, b"", "UNKNOWN_KIND"),
        (0x7F, b"", "UNKNOWN_KIND"),
        (0x81, b"", "UNKNOWN_KIND"),
        (0xFF, b"", "UNKNOWN_KIND"),
        ("WHO", b"\x00", "WRONG_LENGTH"),
        ("DESCRIPTION", b"\x00\x00\x00", "WRONG_LENGTH"),
        ("TEXT", b"\x03\x00\x00", "OUT_OF_RANGE"),
        ("LANES", b"\x09", "OUT_OF_RANGE"),
        ("SHOES", b"\x03", "OUT_OF_RANGE"),
        ("CAPTURE", b"\x09\x10", "OUT_OF_RANGE"),
        ("CAPTURE", b"\x00\x00", "OUT_OF_RANGE"),
        ("CAPTURED", b"\x00\x00", "NOT_RUNNING"),
        ("CAPTURE_END", b"", "NOT_RUNNING"),
        ("REMAP", b"\x04", "OUT_OF_RANGE"),
    ],
)
def test_what_cannot_be_answered_is_refused_with_its_reason(
    linked: LinkedConsole, kind: int | str, payload: bytes, reason: str
) -> None:
    """The refusal names the kind that was asked, and why."""
    number = kind if isinstance(kind, int) else WORDS[f"LINK_{kind}"]
    body = linked.exchange(number, payload)
    assert (body.kind, body.payload) == (WORDS["LINK_REFUSED"], bytes((number, WORDS[f"LINK_{reason}"])))


def test_what_the_board_was_built_without_is_refused(described: LinkedConsole) -> None:
    """Without room for captures and remapped contacts, all that has to do with them is not here."""
    described.console.switch_on()
    assert described.refusal("CAPTURE", b"\x00\x10") == "NOT_HERE"
    assert described.refusal("CAPTURED", b"\x00\x00") == "NOT_HERE"
    assert described.refusal("CAPTURE_END") == "NOT_HERE"
    assert described.refusal("REMAP", b"\x00") == "NOT_HERE"
    assert described.refusal("REMAP_PUT", bytes(4)) == "NOT_HERE"
    assert described.refusal("REMAP_KEEP") == "NOT_HERE"
    assert described.refusal("REMAP_CLEAR") == "NOT_HERE"


def test_a_console_of_nothing_can_be_asked(tmp_path: Path) -> None:
    """Without a lane and without a shoe there is nothing to see, and that is said."""
    linked = build_linked(tmp_path, ConsoleTable(sizes={"LINK": 1, "CAPTURE_LANES": 1, "REMAP_ROWS": 1}))
    assert linked.ask("WHO")[3:7] == bytes(4)
    assert linked.refusal("LANES", b"\x00") == "OUT_OF_RANGE"
    assert linked.refusal("SHOES", b"\x00") == "OUT_OF_RANGE"
    assert linked.refusal("CAPTURE", b"\x00\x01") == "OUT_OF_RANGE"
    assert linked.refusal("REMAP_PUT", bytes(4)) == "OUT_OF_RANGE"
    linked.ask("SHOES_ANEW")


def test_another_version_is_refused_in_ours(linked: LinkedConsole) -> None:
    """A frame of version 2 is answered by a refusal that bears version 1, and nothing is done."""
    linked.give(frame(WORDS["LINK_PANIC"], b"", 7, version=2))
    (body,) = linked.bodies()
    assert (body.version, body.kind, body.sequence) == (1, WORDS["LINK_REFUSED"], 7)
    assert body.payload == bytes((WORDS["LINK_PANIC"], WORDS["LINK_OTHER_VERSION"]))
    linked.console.run(2000)
    assert linked.console.take() == b""


def test_a_frame_that_comes_again_is_answered_but_not_done_again(linked: LinkedConsole) -> None:
    """A capture begun twice by one frame keeps what it has; a new frame begins it anew."""
    console = linked.console
    begin = frame(WORDS["LINK_CAPTURE"], b"\x00\x08", 50)
    linked.give(begin)
    first = linked.bodies()
    console.registers[0] = 0xFE
    console.run(30)
    linked.give(begin)
    assert linked.bodies() == first
    assert linked.ask("CAPTURED", b"\x00\x00")[4] == 1, "the stroke is still there"
    linked.give(begin)
    assert linked.bodies() == first
    assert linked.ask("CAPTURED", b"\x00\x00")[4] == 0, "another question came between: it is done again"


def test_a_refusal_that_is_asked_for_again_is_given_again(linked: LinkedConsole) -> None:
    """The outcome is remembered with the question."""
    linked.give(frame(WORDS["LINK_CAPTURE_END"], b"", 3) * 2)
    first, second = linked.bodies()
    assert first == second
    assert first.payload[1] == WORDS["LINK_NOT_RUNNING"]


def test_questions_that_come_close_together_are_all_answered_in_order(linked: LinkedConsole) -> None:
    """What comes while an answer goes out waits on the line."""
    linked.give(b"".join(frame(WORDS["LINK_PACE"], b"", sequence) for sequence in range(10)))
    assert [body.sequence for body in linked.bodies(1000)] == list(range(10))


def test_broken_frames_are_counted_and_not_answered(linked: LinkedConsole) -> None:
    """A cut frame, a changed byte and noise bring no answer, and the next question is answered."""
    good = frame(WORDS["LINK_WHO"], b"", 4)
    changed = bytes((good[0], good[1] ^ 2, *good[2:]))
    for broken in (good[:3] + b"\0", changed, b"\xff" * 300 + b"\0"):
        linked.give(broken)
        assert linked.bodies(120) == []
    assert counters(linked)["BAD_FRAMES"] == 3


def test_a_zero_brings_a_cut_frame_to_its_end(linked: LinkedConsole) -> None:
    """Half a frame, then a zero, then a question: the question is answered."""
    linked.give(frame(WORDS["LINK_WHO"])[:4] + b"\0" + frame(WORDS["LINK_PACE"], b"", 12))
    (body,) = linked.bodies()
    assert body.sequence == 12


def test_a_computer_that_does_not_listen_holds_up_nothing(linked: LinkedConsole) -> None:
    """While nobody takes the answer, keys sound as ever; once it is taken, the next question is answered."""
    console = linked.console
    stuck = linked.number("host_link_stuck")
    stuck.value = 1
    linked.give(frame(WORDS["LINK_WHO"], b"", 1) + frame(WORDS["LINK_PACE"], b"", 2))
    console.run(200)
    console.registers[0] = 0xFE
    console.run(20)
    assert console.messages() == [(0x90, 36, 100)]
    assert linked.heard() == b""
    stuck.value = 0
    assert [body.sequence for body in linked.bodies(200)] == [1, 2]


def test_the_board_never_speaks_unasked(linked: LinkedConsole) -> None:
    """Whatever happens at the console, nothing goes over the link."""
    for level in (0x00, 0xFF) * 20:
        linked.console.registers[0] = linked.console.registers[4] = level
        linked.console.run(50)
    assert linked.heard() == b""


@pytest.mark.parametrize(
    ("sizes", "words"),
    [
        ({"LINK": 2}, "LINK must be 0 or 1"),
        ({"LINK": 1, "CAPTURE_LANES": 32}, "CAPTURE_LANES must be 0 to 31"),
        ({"LINK": 1, "REMAP_ROWS": 33}, "REMAP_ROWS must be 0 to 32"),
        ({"LINK": 0, "CAPTURE_LANES": 1}, "must be 0 where LINK is 0"),
        ({"LINK": 0, "REMAP_ROWS": 1}, "must be 0 where LINK is 0"),
        ({"LINK": 1, "JOB_DESCRIPTION_BYTES": 60001}, "JOB_DESCRIPTION_BYTES must be 0 to 60000"),
    ],
)
def test_sizes_that_cannot_be_stop_the_compiler(tmp_path: Path, sizes: dict[str, int], words: str) -> None:
    """A size of the link beyond what the core holds is refused while compiling, by name."""
    result = compile_host(put_table(tmp_path, ConsoleTable(sizes=sizes).text()), tmp_path / "core.so")
    assert result.returncode != 0
    assert words in result.stderr


def test_tables_beyond_the_first_64_kib_stop_the_compiler(tmp_path: Path) -> None:
    """Flash is read with 16-bit addresses: all tables and the description together must lie below 60,000 bytes."""
    keys = vars(chain_of_keys(128, 8, LINK=1))
    for size, stretches, fits in ((50_000, 0, True), (55_000, 0, False), (50_000, 2048, False)):
        tables = {**keys, "description": bytes(size), "ladders": [(0, 0)] * stretches}
        home = put_table(tmp_path / f"{size}and{stretches}", ConsoleTable(**tables).text())
        result = compile_host(home, home / "core.so")
        assert (result.returncode == 0) == fits, result.stderr[:1000]
        assert fits or "tables_are_more_than_60000_bytes" in result.stderr


def test_without_a_link_nothing_of_it_is_built(tmp_path: Path) -> None:
    """LINK 0 leaves no byte of the link in the library, and a console without it plays the same."""
    without, with_link = (build_console(tmp_path, chain_of_keys(2, 4, LINK=link, POWER_ON_TICKS=10)) for link in (0, 1))
    assert hasattr(with_link.core, "frame_take")
    assert not any(hasattr(without.core, name) for name in ("frame_take", "link_tick", "pace_tick", "remap_plays"))
    for console in (without, with_link):
        console.run(100)
        console.registers[1] = 0x5A
        console.run(100)
    assert without.take() == with_link.take()
