"""What the firmware costs on the RP2040, in emulation: `python -m tests.emulator.rp2040.bench`.

A console with 320 contacts in 40 registers on one chain is played on the emulated chip at 125 MHz, the chain at
3.9 MHz.  Cycles are those of the emulator, which knows no cache misses: a real chip takes longer while its cache fills.
"Wire alone" is eight bits a register; the serial port itself takes one and a half more between bytes.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from statistics import median

import pytest

from tests.emulator.bench_console import Bench, bench_console
from tests.emulator.bench_latency import worst_latencies_us
from tests.emulator.bench_scans import TWENTY_REGISTERS, bouncing_scans, quiet_scans, whole_change_scans
from tests.emulator.bench_tables import Figure, Section, table
from tests.emulator.build import BuildError
from tests.emulator.harness import CYCLES_PER_US
from tests.emulator.rp2040.consoles import BOARD, CPU_HZ

WIRED_WELL = Bench(CPU_HZ // 32, board=BOARD)
STROKES = 3
PRESSES = 2
REGISTERS_PRESSED = range(0, 40, 13)


def main(arguments: list[str] | None = None) -> int:
    """Print the table and return the exit code."""
    words = (__doc__ or "").split("\n\n")[1]
    argparse.ArgumentParser(prog="python -m tests.emulator.rp2040.bench", description=words).parse_args(arguments)
    try:
        measured = list(sections())
    except (BuildError, RuntimeError, pytest.skip.Exception, pytest.fail.Exception) as error:
        sys.stderr.write(f"bench: {error}\n")
        return 1
    sys.stdout.write(f"{table(measured)}\n")
    return 0


def sections() -> Iterator[Section]:
    """Measure everything, section by section."""
    yield Section("First edge, five groups: busy time of one scan", tuple(_scans(WIRED_WELL)))
    yield Section("The same in processor cycles", tuple(_cycles(WIRED_WELL)))
    yield Section("Press to first byte, beyond the period and the shift-out", tuple(_latencies(WIRED_WELL)))
    yield Section("Memory with 320 contacts, without the Arduino core", tuple(_memory(WIRED_WELL)))


def _measured(bench: Bench) -> Iterator[tuple[str, float]]:
    """Yield what was measured, in microseconds."""
    bouncing = bouncing_scans(bench, TWENTY_REGISTERS, STROKES)
    for words, counts in (
        ("quiet", max(quiet_scans(bench))),
        ("20 bouncing, worst scan", max(bouncing)),
        ("20 bouncing, usual scan", median(bouncing)),
        ("all 320 changing at once, worst scan", max(whole_change_scans(bench, 1))),
    ):
        yield words, counts / CYCLES_PER_US


def _scans(bench: Bench) -> Iterator[Figure]:
    for words, measured_us in _measured(bench):
        yield Figure(words, measured_us, "µs", bench.wire_us)


def _cycles(bench: Bench) -> Iterator[Figure]:
    for words, measured_us in _measured(bench):
        per_us = CPU_HZ / 1e6
        yield Figure(words, measured_us * per_us, "cycles", bench.wire_us * per_us)


def _latencies(bench: Bench) -> Iterator[Figure]:
    period_us = bench_console(bench).plan.tick_us
    for register, worst_us in worst_latencies_us(bench, PRESSES, REGISTERS_PRESSED).items():
        beyond_us = worst_us - period_us - bench.shift_out_us(register + 1)
        yield Figure(f"register {register + 1}: {worst_us:.2f} µs in all", beyond_us, "µs")


def _memory(bench: Bench) -> Iterator[Figure]:
    image = bench_console(bench).image
    yield Figure("RAM", image.ram, "bytes")
    yield Figure("flash", image.flash, "bytes")


if __name__ == "__main__":
    sys.exit(main())
