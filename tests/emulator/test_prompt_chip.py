"""The fastest chain on chips that have a byte ready later than its bits: counted cycles are used only where they do.

The data sheet (Atmel 2549, serial peripheral interface) says that a byte at half the CPU clock takes 16 cycles on the
wire, and not how many cycles later it can be read.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from retrofit.firmware.sketch import write_sketch
from tests.emulator.bench import FASTEST
from tests.emulator.bench_console import REGISTERS, bench_console
from tests.emulator.bench_scans import point_at, quiet_byte_cycles
from tests.emulator.build import Image, build_sketch
from tests.emulator.harness import Event, Seen, run

pytestmark = pytest.mark.emulator

STROKE_US = 20_000.0


def play(image: Image, late_cycles: int) -> Seen:
    """Strike a contact in every register, one after the other, on a chip with late bytes."""
    console = bench_console(FASTEST)
    events: list[Event] = []
    for register in range(REGISTERS):
        at_us = console.listening_us + register * 2 * STROKE_US
        name = point_at(console.plan, register, register % 8)
        events += console.stage.events(name, [(at_us, True), (at_us + STROKE_US, False)])
    scenario = console.stage.scenario(image.hex, console.listening_us / 1000 + REGISTERS * STROKE_US / 500, events)
    assert scenario.chain is not None
    return run(replace(scenario, chain=replace(scenario.chain, late_cycles=late_cycles)))


@cache
def on_time() -> Seen:
    """Return what is heard of the strokes on a chip that has its bytes at once."""
    return play(bench_console(FASTEST).image, 0)


def quiet_cycles(seen: Seen) -> float:
    """Return what a quiet scan took."""
    (shape,) = seen.scans["quiet"].values()
    return float(shape["total"]["mean"])


def test_every_stroke_is_heard() -> None:
    """Forty strokes on an idle wire bring eighty messages of three bytes, the status only where it changes."""
    assert not on_time().problems
    assert len([byte for byte in on_time().sent if byte < 0x80]) == 2 * 2 * REGISTERS + 2 * len(on_time_silences())


def on_time_silences() -> list[int]:
    """Return the bytes of the all-notes-off messages that begin the run (MIDI 1.0, controller 123)."""
    sent = on_time().sent
    return [place for place, byte in enumerate(sent) if byte == 123 and sent[place + 1] == 0]


@pytest.mark.parametrize("late_cycles", [1, 2, 3, 4, 7])
def test_late_bytes_are_waited_for(late_cycles: int) -> None:
    """However late a byte is, the same strokes bring the same bytes."""
    seen = play(bench_console(FASTEST).image, late_cycles)
    assert not seen.problems
    assert seen.sent == on_time().sent


def test_cycles_are_counted_only_where_bytes_are_prompt() -> None:
    """With a byte ready 17 cycles after its start a lane takes 18; one cycle later every byte is waited for."""
    image = bench_console(FASTEST).image
    one_late, two_late = quiet_cycles(play(image, 1)), quiet_cycles(play(image, 2))
    assert quiet_byte_cycles(FASTEST) == 18
    assert one_late == pytest.approx(quiet_cycles(on_time()), abs=8)
    assert two_late >= one_late + 4 * (REGISTERS - 1)


def test_counting_without_having_looked_is_caught(tmp_path: Path) -> None:
    """A firmware that takes its chip for prompt reads another console on one that is not."""
    folder = write_sketch(bench_console(FASTEST).plan, tmp_path).folder
    source = (folder / "board.c").read_text(encoding="utf-8")
    right = "chain_is_prompt = SPI_DIVIDER == 2 && chain_byte_is_prompt();"
    assert source.count(right) == 1
    (folder / "board.c").write_text(source.replace(right, "chain_is_prompt = 1;"), encoding="utf-8")
    assert play(build_sketch(folder), 3).sent != on_time().sent
