"""The firmware's own figures beside their goals: `python -m tests.emulator.bench`, `--board` for another board.

Compiles consoles with 320 contacts in 40 registers on one chain (as many as it takes, on the ATmega32U4), runs them on
the emulated board, and prints what scans, presses and memory cost, with what the wire alone takes and, for the
ATmega2560 at 16 MHz, the goals.  Real wiring is clocked at 1 to 4 MHz; 8 MHz, the fastest that the AVR boards offer,
shows what the firmware itself costs.  Cycles of the RP2040 are those of an emulator that knows no cache misses: a real
chip takes longer while its cache fills; its memory is without the Arduino core.  Every figure is counted in cycles, so
the same firmware always brings the same figures.  A missed goal is said in words; the exit code is 1 only when
something could not be built or run.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from statistics import median

import pytest

from tests.emulator import bench_tables as tables
from tests.emulator.bench_board import BoardBench, board_sections
from tests.emulator.bench_console import REGISTERS, Bench, bench_console, largest_bench, uneven_keys
from tests.emulator.bench_latency import worst_latencies_us
from tests.emulator.bench_plain import plain_scans
from tests.emulator.bench_scans import (
    EIGHT_REGISTERS,
    TWENTY_REGISTERS,
    bouncing_scans,
    quiet_byte_cycles,
    quiet_scans,
    whole_change_scans,
)
from tests.emulator.bench_tables import Figure, Section
from tests.emulator.build import BuildError
from tests.emulator.demos import DEMOS, prompt_demo
from tests.emulator.harness import CLOCK_HZ, CYCLES_PER_US
from tests.emulator.quiet import quiet_scans as demo_scans
from tests.emulator.quiet import tick_times
from tests.emulator.rp2040.consoles import BOARD as RP2040
from tests.emulator.rp2040.consoles import CPU_HZ

FASTEST = Bench(8_000_000)
WIRED_WELL = Bench(4_000_000)
WIRED_FAR = Bench(1_000_000, tick_us=1000)
COUNTED = Bench(8_000_000, counted=True)
ONE_GROUP = Bench(8_000_000, keys=(64,), contacts_per_key=5)


@dataclass(frozen=True)
class Effort:
    """How much is played: strokes of bouncing contacts, of all contacts at once, and presses per register."""

    bouncing: int = 12
    at_once: int = 3
    presses: int = 6


def main(arguments: list[str] | None = None) -> int:
    """Print the table and return the exit code."""
    board: str = _options(arguments).board
    try:
        measured = [_announced(section) for section in BOARDS[board]()]
    except (BuildError, RuntimeError, pytest.skip.Exception, pytest.fail.Exception) as error:
        sys.stderr.write(f"bench: {error}\n")
        return 1
    sys.stdout.write(f"{tables.table(measured)}\n")
    return 0


def _options(arguments: list[str] | None) -> argparse.Namespace:
    words = (__doc__ or "").split("\n\n")[1]
    parser = argparse.ArgumentParser(prog="python -m tests.emulator.bench", description=words)
    parser.add_argument("--board", choices=BOARDS, default="atmega2560", help="the board that is measured")
    return parser.parse_args(arguments)


def _announced(section: Section) -> Section:
    sys.stderr.write(f"measured: {section.heading}\n")
    return section


def small_board_sections() -> Iterator[Section]:
    """Measure the ATmega32U4 with as many registers as it takes, by USB and by the wire."""
    for usb in (True, False):
        yield from board_sections(BoardBench(largest_bench(replace(FASTEST, board="atmega32u4", usb=usb)), CLOCK_HZ))


def rp2040_sections() -> Iterator[Section]:
    """Measure the RP2040 at 125 MHz, its chain at 3.9 MHz: that is what its clock leaves below 4 MHz."""
    return board_sections(BoardBench(Bench(CPU_HZ // 32, board=RP2040), CPU_HZ))


def sections(effort: Effort) -> Iterator[Section]:
    """Measure everything on the ATmega2560, section by section."""
    yield Section(_busy_heading("First edge", FASTEST), (*_quiet_first_edge(), *_busy_first_edge(effort)))
    yield Section(_busy_heading("Asymmetric counters", COUNTED), tuple(_busy_counted(effort)))
    yield Section("Quiet path: cycles for each further register of a run", tuple(_byte_cycles()))
    yield Section("One timer per contact, written plainly, from the same registers: cycles for each contact", _plain())
    for bench in (FASTEST, WIRED_WELL):
        yield Section(_latency_heading(bench), tuple(_latencies(bench, effort.presses)))
    yield Section("Memory with 320 contacts, by avr-size", tuple(_memory()))
    yield Section("Demo jobs: longest quiet tick, emulated against predicted", tuple(_predictions()))


BOARDS: dict[str, Callable[[], Iterator[Section]]] = {
    "atmega2560": lambda: sections(Effort()),
    "atmega32u4": small_board_sections,
    "rp2040": rp2040_sections,
}


def _busy_heading(family: str, bench: Bench) -> str:
    return f"{family}: busy time of one scan (T = {bench_console(bench).plan.tick_us} µs)"


def _quiet_first_edge() -> Iterator[Figure]:
    yield _worst("quiet, 8 MHz, five groups", FASTEST, quiet_scans(FASTEST), tables.QUIET)
    yield _worst("quiet, 8 MHz, one group", ONE_GROUP, quiet_scans(ONE_GROUP), tables.QUIET)
    yield _worst("quiet, 4 MHz, five groups", WIRED_WELL, quiet_scans(WIRED_WELL))
    yield _worst(f"quiet, 1 MHz, five groups, T = {WIRED_FAR.tick_us} µs", WIRED_FAR, quiet_scans(WIRED_FAR))


def _busy_first_edge(effort: Effort) -> Iterator[Figure]:
    yield from _bouncing(FASTEST, effort, tables.BOUNCING)
    scans = bouncing_scans(FASTEST, EIGHT_REGISTERS, effort.bouncing)
    yield _worst("20 bouncing in 8 registers, 8 MHz, worst scan", FASTEST, scans, tables.BOUNCING)
    yield _usual("20 bouncing in 8 registers, 8 MHz, usual scan", FASTEST, scans)
    yield _all_at_once(FASTEST, effort, tables.ALL_AT_ONCE)
    yield from _bouncing(WIRED_WELL, effort)
    yield _all_at_once(WIRED_WELL, effort)


def _busy_counted(effort: Effort) -> Iterator[Figure]:
    yield _worst("quiet, 8 MHz, five groups", COUNTED, quiet_scans(COUNTED))
    yield from _bouncing(COUNTED, effort)
    yield _all_at_once(COUNTED, effort)


def _bouncing(bench: Bench, effort: Effort, goal: tables.Goal | None = None) -> Iterator[Figure]:
    """The worst scan is the one that finds all contacts changed; in the usual one hold-offs or counters just run."""
    scans = bouncing_scans(bench, TWENTY_REGISTERS, effort.bouncing)
    yield _worst(f"20 bouncing in 20 registers, {_clock(bench)}, worst scan", bench, scans, goal)
    yield _usual(f"20 bouncing in 20 registers, {_clock(bench)}, usual scan", bench, scans)


def _all_at_once(bench: Bench, effort: Effort, goal: tables.Goal | None = None) -> Figure:
    scans = whole_change_scans(bench, effort.at_once)
    return _worst(f"all 320 changing at once, {_clock(bench)}, worst scan", bench, scans, goal)


def _byte_cycles() -> Iterator[Figure]:
    for bench in (FASTEST, WIRED_WELL):
        wire = bench.shift_out_us(1) * CYCLES_PER_US
        cycles = quiet_byte_cycles(replace(bench, keys=uneven_keys(bench.keys)))
        yield Figure(_clock(bench), cycles, "cycles", wire)


def _plain() -> tuple[Figure, ...]:
    """What each contact costs in a quiet scan and in the worst one with 20 contacts struck, beside ours."""
    struck = bouncing_scans(FASTEST, TWENTY_REGISTERS, 1)
    pairs = (
        ("at rest", max(quiet_scans(FASTEST)), max(plain_scans())),
        ("20 struck in 20 registers, worst scan", max(struck), max(plain_scans(TWENTY_REGISTERS))),
    )
    return tuple(figure for each in pairs for figure in _beside(*each))


def _beside(words: str, ours: int, plain: int) -> Iterator[Figure]:
    contacts = 8 * REGISTERS
    yield Figure(f"{words}: this firmware", ours / contacts, "cycles")
    yield Figure(f"{words}: a timer per contact", plain / contacts, "cycles")
    yield Figure(f"{words}: ratio", plain / ours, "x")


def _latency_heading(bench: Bench) -> str:
    period_us = bench_console(bench).plan.tick_us
    return f"First edge at {_clock(bench)}: press to first byte, beyond T = {period_us} µs and the shift-out"


def _latencies(bench: Bench, presses: int) -> Iterator[Figure]:
    period_us = bench_console(bench).plan.tick_us
    found = worst_latencies_us(bench, presses, range(REGISTERS))
    beyond = {register: found[register] - period_us - bench.shift_out_us(register + 1) for register in found}
    for first in range(0, REGISTERS, 8):
        worst = max(range(first, first + 8), key=beyond.__getitem__)
        words = f"registers {first + 1} to {first + 8}: worst is {worst + 1}, {found[worst]:.2f} µs in all"
        yield Figure(words, beyond[worst], "µs", goal=tables.LATENCY if bench is FASTEST else None)


def _memory() -> Iterator[Figure]:
    for words, bench in (("first edge", FASTEST), ("asymmetric counters", COUNTED)):
        image = bench_console(bench).image
        yield Figure(f"RAM, {words}", image.ram, "bytes", goal=tables.RAM)
        yield Figure(f"flash, {words}", image.flash, "bytes", goal=tables.FLASH)


def _predictions() -> Iterator[Figure]:
    for name in DEMOS:
        console = prompt_demo(name)
        measured, predicted = tick_times(console.plan, demo_scans(console))
        longest = max(measured, key=measured.__getitem__)
        words = f"{name}: {measured[longest]:.2f} µs emulated, {predicted[longest]:.2f} µs predicted"
        off = abs(predicted[longest] / measured[longest] - 1) * 100
        yield Figure(words, off, "%", goal=tables.PREDICTION)


def _worst(what: str, bench: Bench, scans: list[int], goal: tables.Goal | None = None) -> Figure:
    return Figure(what, max(scans) / CYCLES_PER_US, "µs", bench.wire_us, goal)


def _usual(what: str, bench: Bench, scans: list[int]) -> Figure:
    return Figure(what, median(scans) / CYCLES_PER_US, "µs", bench.wire_us)


def _clock(bench: Bench) -> str:
    return f"{bench.spi_hz / 1e6:g} MHz"


if __name__ == "__main__":
    sys.exit(main())
