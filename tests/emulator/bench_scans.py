"""How long single scans of a console take while nothing moves, while contacts bounce, and while all of them change."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from random import Random
from statistics import median

from retrofit.plan.model import ConversionPlan
from tests.emulator.bench_console import Bench, bench_console
from tests.emulator.bounce import exact_burst
from tests.emulator.demos import Console
from tests.emulator.harness import CYCLES_PER_US, Event, Scenario, Seen, run

SEED = 1
QUIET_MS = 200
BURST_US = 12_000.0
"""More than two hold-offs, so that contacts are found moving when their hold-off ends, and bounce on."""
REST_US = 150_000.0
"""After this long everything that a burst brought has left the wire."""
FEWER = 4
"""By how many registers a smaller console is smaller."""
SCAN_BEGINS = 0xFF
SCAN_ENDS = 0

Spread = tuple[tuple[int, int], ...]
"""Which contacts bounce together: (register, bit) of each."""

TWENTY = 20


def one_in_each(registers: int) -> Spread:
    """Return twenty contacts, each in a register of its own, spread over a chain with its last register among them."""
    return tuple(((turn + 1) * registers // TWENTY - 1, turn % 8) for turn in range(TWENTY))


TWENTY_REGISTERS: Spread = one_in_each(40)
"""One contact in every other register of the longest chain."""
EIGHT_REGISTERS: Spread = tuple((16 + turn % 8, turn // 8 + turn % 5) for turn in range(20))
"""Twenty contacts in the eight registers of one manual, as under a chord of both hands."""


def run_soundly(scenario: Scenario) -> Seen:
    """Run a scenario.  Raises `RuntimeError` when the console's models have anything to complain of."""
    seen = run(scenario)
    if seen.problems:
        raise RuntimeError(f"the emulated console complains: {'; '.join(seen.problems)}")
    return seen


def quiet_scans(bench: Bench) -> list[int]:
    """Return the cycles of the scans of a console at rest."""
    return _scans(bench_console(bench), (), bench_console(bench).listening_us + QUIET_MS * 1000)


def quiet_byte_cycles(bench: Bench) -> float:
    """Return what each further register of the chain costs, from the console and one with fewer registers."""
    smaller = replace(bench, keys=(bench.keys[0] - 8 * FEWER, *bench.keys[1:]))
    return (median(quiet_scans(bench)) - median(quiet_scans(smaller))) / FEWER


def bouncing_scans(bench: Bench, spread: Spread, strokes: int) -> list[int]:
    """Return the cycles of the scans from the first edge to the last while contacts are struck at once, and bounce.

    Each stroke begins at another phase of the scan, and all its contacts close (then open) between the same two scans.
    """
    console, rng = bench_console(bench), Random(SEED)
    names, windows = [point_at(console.plan, *place) for place in spread], []
    events: list[Event] = []
    for stroke in range(2 * strokes):
        start_us = _start_us(console, rng, stroke)
        for name in names:
            events += console.stage.events(name, exact_burst(rng, start_us, stroke % 2 == 0, BURST_US).edges)
        windows.append((start_us, start_us + BURST_US))
    return _scans(console, events, windows[-1][1] + REST_US, windows)


def whole_change_scans(bench: Bench, strokes: int) -> list[int]:
    """Return the cycles of all scans while every contact is closed at once, and opened at once, without bounce."""
    console, rng = bench_console(bench), Random(SEED)
    events: list[Event] = []
    for stroke in range(2 * strokes):
        # The messages of 320 contacts keep the wire busy for up to 308 ms.
        start_us = _start_us(console, rng, 3 * stroke)
        for name in console.stage.contacts:
            events += console.stage.events(name, [(start_us, stroke % 2 == 0)])
    return _scans(console, events, _start_us(console, rng, 6 * strokes))


def _start_us(console: Console, rng: Random, turn: int) -> float:
    return console.listening_us + turn * REST_US + rng.random() * console.plan.tick_us


def point_at(plan: ConversionPlan, register: int, bit: int) -> str:
    """Return the id of the point at a place on the chain.  Raises `ValueError` where there is none."""
    point = next((lane.points[bit] for lane in plan.layout.lanes if lane.place == register), None)
    if point is None:
        raise ValueError(f"no point at bit {bit} of register {register}: choose another place to measure")
    return point


def _scans(
    console: Console, events: Iterable[Event], until_us: float, windows: Sequence[tuple[float, float]] = ()
) -> list[int]:
    """Return the cycles of the scans that begin within one of the windows; without any, of all since the start-up."""
    scenario = console.stage.scenario(console.image.hex, until_us / 1000, events, keep_marks=True)
    within = windows or [(console.listening_us, until_us)]
    return [
        ends - begins
        for begins, ends in whole_scans(run_soundly(scenario).marks)
        if any(first <= begins / CYCLES_PER_US <= last for first, last in within)
    ]


def whole_scans(marks: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the cycles at which each whole scan began and ended."""
    scans: list[tuple[int, int]] = []
    begins: int | None = None
    for cycle, value in marks:
        if value == SCAN_BEGINS:
            begins = cycle
        elif value == SCAN_ENDS and begins is not None:
            scans.append((begins, cycle))
            begins = None
    return scans
