"""The bounce capture against a model that knows the whole trace at once, and the price of it while it is off."""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.firmware.build import CORE, compile_avr, put_table, run
from tests.firmware.console import Console
from tests.firmware.linked import WORDS, LinkedConsole, build_linked
from tests.firmware.table_text import CHAIN, COUNTED, NOTES, ConsoleTable, chain_of_keys, note
from tests.tools import require_tool

BINS = WORDS["LINK_BINS"]
NONE = WORDS["LINK_NONE_8"]


@dataclass
class Way:
    """What is known of pressing or of releasing."""

    strokes: int = 0
    edges_last: int = 0
    edges_most: int = 0
    first_stay: int = NONE
    longest: int = 0
    bins: list[int] = field(default_factory=lambda: [0] * BINS)

    def packed(self) -> bytes:
        """The 14 bytes of the answer."""
        return struct.pack(
            f"<4BH{BINS}B",
            self.strokes,
            self.edges_last,
            self.edges_most,
            self.first_stay,
            self.longest,
            *self.bins,
        )


def strokes_of(trace: Sequence[int], rest: int) -> Iterator[list[int]]:
    """The samples at which a trace has edges, stroke by stroke, as far as each has come to rest within the trace."""
    edges = [place + 1 for place, (before, after) in enumerate(pairwise(trace)) if before != after]
    stroke: list[int] = []
    for edge in edges:
        if stroke and edge - stroke[-1] >= rest:
            yield stroke
            stroke = []
        stroke.append(edge)
    if stroke and len(trace) - stroke[-1] >= rest:
        yield stroke


def captured(trace: Sequence[int], rest: int) -> tuple[int, int, Way, Way]:
    """Level, spikes, pressing and releasing of a contact; counts of 8 bits are not reached by these traces."""
    spikes, ways = 0, (Way(), Way())
    for stroke in strokes_of(trace, rest):
        if len(stroke) % 2 == 0:
            spikes += 1
            continue
        way = ways[0] if trace[stroke[0]] else ways[1]
        bounce = stroke[-1] - stroke[0]
        way.strokes += 1
        way.edges_last = len(stroke)
        way.edges_most = max(way.edges_most, len(stroke))
        way.longest = max(way.longest, bounce)
        way.bins[min(bounce.bit_length(), BINS - 1)] += 1
        if len(stroke) > 1:
            way.first_stay = min(way.first_stay, stroke[1] - stroke[0])
    return trace[-1], spikes, ways[0], ways[1]


def answer_of(linked: LinkedConsole, contact: int) -> bytes:
    """What the board has captured of a contact, behind its number and before the samples that came late."""
    answer = linked.ask("CAPTURED", struct.pack("<H", contact))
    assert answer[:2] == struct.pack("<H", contact)
    return answer[2:-1]


def expected(trace: Sequence[int], rest: int) -> bytes:
    """What the board should answer of a contact that has gone through a trace."""
    level, spikes, press, release = captured(trace, rest)
    return bytes((level, spikes)) + press.packed() + release.packed()


def test_the_model_by_hand() -> None:
    """A stroke worked out by hand: on for 1, off for 2, on for good; then a clean release; then a spike."""
    trace = [0, 0, 1, 0, 0, 1, 1, 1, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0]
    level, spikes, press, release = captured(trace, 4)
    assert (level, spikes) == (0, 1)
    assert press == Way(1, 3, 3, 1, 3, [0, 0, 1, 0, 0, 0, 0, 0])
    assert release == Way(1, 1, 1, NONE, 0, [1, 0, 0, 0, 0, 0, 0, 0])


@pytest.fixture
def linked(sample: Console) -> LinkedConsole:
    """The sample console, past its start."""
    sample.run(400)
    return LinkedConsole(sample)


def begin(linked: LinkedConsole, lane: int, rest: int) -> bytes:
    """Begin a capture and return the answer."""
    return linked.ask("CAPTURE", bytes((lane, rest)))


@st.composite
def traces(draw: st.DrawFn) -> list[int]:
    """Levels of a contact, off at first and at rest at last: stretches of a few samples, long ones between."""
    stretches = draw(st.lists(st.integers(1, 5) | st.integers(1, 80), max_size=25))
    levels = [0]
    for number, length in enumerate(stretches):
        levels += [(number + 1) % 2] * length
    return levels


@settings(max_examples=60, deadline=None)
@given(lanes=st.lists(st.lists(traces(), min_size=8, max_size=8), min_size=2, max_size=2), rest=st.integers(1, 40))
def test_what_is_captured_is_what_the_traces_hold(
    sample_library: Console, lanes: list[list[list[int]]], rest: int
) -> None:
    """Sixteen contacts with random traces: strokes, edges, stays, bounces, bins and spikes agree with the model."""
    sample_library.switch_on()
    linked = LinkedConsole(sample_library)
    sample_library.run(100)
    begin(linked, 0, rest)
    quiet = 60  # samples that the exchange took, all off
    length = max(len(trace) for lane in lanes for trace in lane) + rest
    padded = [[[*trace, *[trace[-1]] * (length - len(trace))] for trace in lane] for lane in lanes]
    for sample in range(length):
        for register, lane in enumerate(padded):
            sample_library.registers[register] = 0xFF ^ sum(trace[sample] << bit for bit, trace in enumerate(lane))
        sample_library.run(1)
    linked.ask("CAPTURE_END")
    for contact in range(16):
        trace = padded[contact // 8][contact % 8]
        assert answer_of(linked, contact) == expected([0] * quiet + trace, rest)


def test_a_group_is_captured_at_its_own_period(tmp_path: Path) -> None:
    """A group that is sampled every fourth tick is captured every fourth tick: nothing between is seen."""
    table = ConsoleTable(
        runs=[(CHAIN, 0, 0, 1, 0, 0)],
        groups=[(COUNTED, 2, 2, 1, 2, 3, NOTES, 0, 0, 0)],
        lanes=[(0xFF, 0xFF)],
        messages=[note(0, 36 + bit) for bit in range(8)],
        sizes={"REGISTER_COUNT": 1, "COUNTER_PLANES": 2, "LINK": 1, "CAPTURE_LANES": 1},
    )
    linked = build_linked(tmp_path, table)
    begin(linked, 0, 2)
    edges = 0
    for tick in range(400):
        linked.console.registers[0] = 0xFE if tick // 2 % 2 else 0xFF
        linked.console.run(1)
    linked.console.registers[0] = 0xFF
    linked.console.run(20)
    answer = answer_of(linked, 0)
    edges = answer[2] + answer[2 + 6 + BINS] + 2 * answer[1]
    assert edges <= 2, "ticks 0, 4, 8, ... show one level only"


def test_a_capture_goes_as_far_as_its_run_and_the_room(linked: LinkedConsole) -> None:
    """Two lanes have room here: those of one run, from the lane that was asked for on."""
    assert begin(linked, 0, 20) == bytes((0, 2, 0, 20, 0))
    assert begin(linked, 1, 20) == bytes((1, 1, 0, 20, 0))
    assert begin(linked, 6, 30) == bytes((6, 2, 5, 30, 0))
    assert begin(linked, 8, 255) == bytes((8, 1, 6, 255, 0))


def test_a_contact_outside_the_capture_is_refused(linked: LinkedConsole) -> None:
    """Only the contacts of the lanes that are captured can be asked for."""
    begin(linked, 6, 20)
    for contact in (0, 47, 64, 65535):
        assert linked.refusal("CAPTURED", struct.pack("<H", contact)) == "OUT_OF_RANGE"
    for contact in (48, 63):
        answer_of(linked, contact)


def test_a_capture_begins_when_its_memory_is_clear(linked: LinkedConsole) -> None:
    """Two contacts are cleared a tick; until all are, the board is busy, and a capture that ends before never was."""
    core, contact = linked.core, bytes(2)
    assert core.capture_start(bytes((0, 20))) & 0xFF == 0
    for _ in range(8):
        assert core.capture_judge(contact) & 0xFF == WORDS["LINK_BUSY"]
        linked.console.run(1)
    assert core.capture_judge(contact) & 0xFF == 0
    assert core.capture_start(bytes((0, 20))) & 0xFF == 0
    assert core.capture_end() & 0xFF == 0
    assert core.capture_judge(contact) & 0xFF == WORDS["LINK_NOT_RUNNING"]


def test_a_matrix_is_captured_like_a_chain(linked: LinkedConsole) -> None:
    """A key of a matrix that closes, opens for one sample and closes for good is a stroke of three edges."""
    console = linked.console
    for row, mask in enumerate((0x01, 0x02)):
        console.rows[row].port, console.rows[row].mask, console.rows[row].columns = 10, mask, 2
    begin(linked, 6, 10)
    for closed in (0x02, 0x00, 0x02):
        console.rows[1].closed = closed
        console.run(1)
    console.run(20)
    press = Way(1, 3, 3, 1, 2, [0, 0, 1, 0, 0, 0, 0, 0])
    assert answer_of(linked, 57) == bytes((1, 0)) + press.packed() + Way().packed()


def test_numbers_stop_where_their_bits_end(linked: LinkedConsole) -> None:
    """300 clean strokes count as 255; a contact that chatters on has an endless stroke, which is in no number yet."""
    console = linked.console
    begin(linked, 0, 1)
    for _ in range(300):
        for level in (0xFE, 0xFF):
            console.registers[0] = level
            console.run(1)
    answer = answer_of(linked, 0)
    assert answer[1] == 0
    assert answer[2:8] == Way(255, 1, 1, NONE, 0).packed()[:6]
    begin(linked, 0, 5)
    for sample in range(66_000):
        console.registers[0] = 0xFF ^ (sample & 1)
        console.core.console_tick()
    assert answer_of(linked, 0)[2] == 0
    console.run(10)
    press = answer_of(linked, 0)[2:16]
    assert press == Way(1, 255, 255, 1, 65535, [0] * 7 + [1]).packed()


def test_late_samples_are_counted(linked: LinkedConsole) -> None:
    """A sample that is taken when its tick is over already is late; what was captured says how many were."""
    counts = linked.number("host_tick_counts")
    begin(linked, 0, 5)
    linked.console.run(20)
    counts.value = 500
    linked.console.run(3)
    counts.value = 499
    linked.console.run(3)
    for contact in (0, 9):
        assert linked.ask("CAPTURED", struct.pack("<H", contact))[-1] == 3
    assert begin(linked, 0, 5)[4] == 0, "a new capture begins with none"
    linked.console.run(20)
    counts.value = 500
    linked.console.run(300)
    counts.value = 0
    assert linked.ask("CAPTURED", bytes(2))[-1] == 255, "which is that many or more"


def test_a_capture_changes_nothing_that_is_played(sample: Console) -> None:
    """The same contacts bring the same MIDI bytes, tick by tick, with a capture running and without."""
    played = []
    for capturing in (False, True):
        sample.switch_on()
        linked = LinkedConsole(sample)
        sample.run(400)
        sample.take()
        if capturing:
            begin(linked, 0, 20)
        else:
            sample.run(80)
        heard = []
        for tick in range(600):
            sample.registers[0] = 0xFF ^ (tick * tick >> 5 & 0xFF)
            sample.registers[1] = 0xFF ^ (tick >> 3 & 0x1F)
            sample.run(1)
            heard.append(sample.take())
        played.append(heard)
    assert played[0] == played[1]
    assert any(played[0])


def test_off_it_reads_nothing(linked: LinkedConsole) -> None:
    """A scan shifts as many bytes as without the link; a capture shifts those that it needs once more."""
    linked.console.run(1)
    assert linked.console.shifted == 7
    begin(linked, 0, 5)
    linked.console.run(1)
    assert linked.console.shifted == 2
    linked.ask("CAPTURE_END")
    linked.console.run(1)
    assert linked.console.shifted == 7


def machine_code(objdump: str, listing: Path) -> dict[str, list[str]]:
    """The instructions of every function of an object and what they refer to, but not where anything stands."""
    text = run([objdump, "-dr", listing]).stdout
    functions: dict[str, list[str]] = {}
    name = ""
    for line in text.splitlines():
        if head := re.fullmatch(r"[0-9a-f]+ <(\w+)>:", line):
            name = head[1]
            functions[name] = []
        elif name and line.strip():
            shown = re.sub(r"^\s*[0-9a-f]+:\s*", "", line).split(";")[0]
            functions[name].append(re.sub(r"\.text\S*", "", shown).strip())
    return functions


def test_the_scan_is_the_same_machine_code_with_and_without_a_link(tmp_path: Path) -> None:
    """On the ATmega2560 no instruction of the scan differs, so that a link without a capture costs it nothing."""
    objdump = require_tool("avr-objdump", "binutils-avr")
    codes = []
    for sizes in ({"LINK": 0}, {"LINK": 1, "CAPTURE_LANES": 8, "REMAP_ROWS": 8}):
        folder = put_table(tmp_path / str(sizes["LINK"]), chain_of_keys(40, 8, **sizes).text())
        result = compile_avr(CORE / "scan.c", folder, folder / "scan.o")
        assert result.returncode == 0, result.stderr
        codes.append(machine_code(objdump, folder / "scan.o"))
    without, with_link = codes
    assert with_link.pop("scan_read_lane")
    assert without["scan_tick"]
    assert with_link == without
