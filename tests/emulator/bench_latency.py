"""From the closing of a contact to the start of its first byte on an idle wire, at the worst phase, by register."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from random import Random

from tests.emulator.bench_console import Bench, bench_console
from tests.emulator.bench_scans import SEED, point_at, run_soundly
from tests.emulator.demos import Console
from tests.emulator.harness import CYCLES_PER_US, Event, Seen

HOLD_US = 9_000.0
"""Longer than a hold-off and a message together."""


@dataclass(frozen=True)
class Press:
    """A contact of a register closes at a cycle."""

    register: int
    point: str
    cycle: float


def worst_latencies_us(bench: Bench, strokes: int, registers: range) -> dict[int, float]:
    """Return the longest time from closing to first byte of each register, over `strokes` presses of chosen contacts.

    By USB it is the time to the packet's being handed over, for the computer decides when it takes it.

    The first run finds out which load of the registers each press meets.  The second repeats it with every press moved
    back to the cycle behind the load before, which just misses it: the worst phase there is.
    """
    console = bench_console(bench)
    presses = _presses(console, strokes, registers)
    loads = _play(console, presses).chain["loadCycles"]
    worst = [replace(press, cycle=_just_missed(loads, press.cycle)) for press in presses]
    starts = _starts(_play(console, worst))
    found: dict[int, float] = {}
    for press in worst:
        latency_us = (starts[bisect_left(starts, press.cycle)] - press.cycle) / CYCLES_PER_US
        found[press.register] = max(found.get(press.register, 0.0), latency_us)
    return found


def _starts(seen: Seen) -> list[int]:
    if seen.midi or seen.usb is None:
        return [cycle for cycle, _ in seen.midi]
    return [ready for ready, _, _ in seen.usb.packets]


def _just_missed(loads: list[int], cycle: float) -> int:
    # A contact that closes on the very cycle of a load is still seen by it.
    return loads[bisect_left(loads, cycle) - 1] + 1


def _presses(console: Console, strokes: int, registers: range) -> list[Press]:
    rng, presses = Random(SEED), []
    for turn, register in enumerate(list(registers) * strokes):
        at_us = console.listening_us + 2 * turn * HOLD_US + rng.random() * console.plan.tick_us
        presses.append(Press(register, point_at(console.plan, register, rng.randrange(8)), at_us * CYCLES_PER_US))
    return presses


def _play(console: Console, presses: list[Press]) -> Seen:
    """Play the presses, each released again before the next one."""
    stage = console.stage
    events: list[Event] = []
    for press in presses:
        at_us = press.cycle / CYCLES_PER_US
        events += stage.events(press.point, [(at_us, True), (at_us + HOLD_US, False)])
    until_ms = presses[-1].cycle / CYCLES_PER_US / 1000 + HOLD_US / 500
    return run_soundly(replace(stage.scenario(console.image.hex, until_ms, events), keep_loads=True))
