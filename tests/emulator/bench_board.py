"""The figures of one board in a short form: scans in microseconds and in its processor's cycles, presses, memory."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from statistics import median

from tests.emulator.bench_console import Bench, bench_console, bench_plan, uneven_keys
from tests.emulator.bench_latency import worst_latencies_us
from tests.emulator.bench_scans import bouncing_scans, one_in_each, quiet_byte_cycles, quiet_scans, whole_change_scans
from tests.emulator.bench_tables import Figure, Section
from tests.emulator.harness import CYCLES_PER_US

PRESSED = 13
"""One register in so many is pressed, and the last one."""


@dataclass(frozen=True)
class BoardBench:
    """A console on a board with its processor's clock, and how much is played: strokes of some and of all contacts."""

    bench: Bench
    cpu_hz: int
    bouncing: int = 3
    at_once: int = 1
    presses: int = 2

    @property
    def per_us(self) -> float:
        """Cycles of the processor in a microsecond."""
        return self.cpu_hz / 1e6


def board_sections(board: BoardBench) -> Iterator[Section]:
    """Measure everything, section by section."""
    bench = board.bench
    outlet = "by USB" if bench.usb else "by the wire"
    what = f"{bench.spi_hz / 1e6:.3g} MHz, {bench.registers} registers, five groups, {outlet}"
    scans = tuple(_scans(board))
    yield Section(f"{what}: busy time of one scan of first edges (T = {bench_plan(bench).tick_us} µs)", scans)
    yield Section(f"{what}: the same in processor cycles", tuple(_in_cycles(each, board.per_us) for each in scans))
    yield Section(f"{what}: processor cycles for each further register of a run", (_byte_cycles(board),))
    yield Section(f"{what}: press to first {_first(bench)}, beyond T and the shift-out", tuple(_latencies(board)))
    yield Section(f"{what}: memory with {8 * bench.registers} contacts", tuple(_memory(bench)))


def _first(bench: Bench) -> str:
    return "packet handed over" if bench.usb else "byte"


def _scans(board: BoardBench) -> Iterator[Figure]:
    bench = board.bench
    bouncing = bouncing_scans(bench, one_in_each(bench.registers), board.bouncing)
    for words, cycles in (
        ("quiet", max(quiet_scans(bench))),
        ("20 bouncing in 20 registers, worst scan", max(bouncing)),
        ("20 bouncing in 20 registers, usual scan", median(bouncing)),
        ("all changing at once, worst scan", max(whole_change_scans(bench, board.at_once))),
    ):
        yield Figure(words, cycles / CYCLES_PER_US, "µs", bench.wire_us)


def _in_cycles(figure: Figure, per_us: float) -> Figure:
    wire = None if figure.wire is None else figure.wire * per_us
    return replace(figure, measured=round(figure.measured * per_us), unit="cycles", wire=wire)


def _byte_cycles(board: BoardBench) -> Figure:
    bench = replace(board.bench, keys=uneven_keys(board.bench.keys))
    in_cpu_cycles = board.per_us / CYCLES_PER_US
    return Figure(
        "eight contacts", quiet_byte_cycles(bench) * in_cpu_cycles, "cycles", bench.shift_out_us(1) * board.per_us
    )


def _latencies(board: BoardBench) -> Iterator[Figure]:
    bench = board.bench
    registers = range((bench.registers - 1) % PRESSED, bench.registers, PRESSED)
    for register, worst_us in worst_latencies_us(bench, board.presses, registers).items():
        beyond_us = worst_us - bench_plan(bench).tick_us - bench.shift_out_us(register + 1)
        yield Figure(f"register {register + 1}: {worst_us:.2f} µs in all", beyond_us, "µs")


def _memory(bench: Bench) -> Iterator[Figure]:
    image = bench_console(bench).image
    yield Figure("RAM", image.ram, "bytes")
    yield Figure("flash", image.flash, "bytes")
