"""Invented consoles for measuring: 320 contacts in 40 registers of one chain, or fewer, at any clock of the chain."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from retrofit.catalogue.load import load_catalogue
from retrofit.firmware.sketch import write_sketch
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.job import Job
from tests.emulator.build import build_sketch
from tests.emulator.demos import Console
from tests.emulator.rp2040.build import build_bare

REGISTERS = 40
LOWEST_NOTE = 16
FIRST_EDGE: dict[str, Any] = {"family": "first-edge", "hold_ms": 5}
COUNTED: dict[str, Any] = {"family": "asymmetric", "press_ms": 1, "release_ms": 5}
EVEN = (64, 64, 64, 64, 64)


@dataclass(frozen=True)
class Bench:
    """A console to measure: its chain's clock, its debounce, the keys of each manual, and the sets of contacts per key.

    `spi_hz` replaces the clock that the planner chose, which is never more than real wiring bears.  `tick_us` replaces
    the pace, where the chain is too slow for the planned one.  `usb` lets messages leave by USB alone.
    """

    spi_hz: int
    counted: bool = False
    keys: tuple[int, ...] = EVEN
    contacts_per_key: int = 1
    tick_us: int | None = None
    board: str = "atmega2560"
    usb: bool = False

    @property
    def registers(self) -> int:
        """How many registers the chain has."""
        return sum(self.keys) * self.contacts_per_key // 8

    @property
    def wire_us(self) -> float:
        """What the bits of all registers take on the wire: nothing can scan the chain faster."""
        return self.shift_out_us(self.registers)

    def shift_out_us(self, registers: int) -> float:
        """What the bits of the first so many registers take on the wire."""
        return registers * 8e6 / self.spi_hz


def even_keys(registers: int) -> tuple[int, ...]:
    """Return the keys of five manuals that fill so many registers, as even as whole registers allow."""
    each, more = divmod(registers, 5)
    return tuple(8 * (each + (manual < more)) for manual in range(5))


def uneven_keys(keys: tuple[int, ...]) -> tuple[int, ...]:
    """Return the keys with two registers of the last manual given to the first."""
    return (keys[0] + 16, *keys[1:-1], keys[-1] - 16)


def largest_bench(bench: Bench) -> Bench:
    """Return a bench with as many registers as its board takes, at most as many as it has."""
    fewer = (replace(bench, keys=even_keys(registers)) for registers in range(bench.registers, 0, -1))
    return next(each for each in fewer if not bench_plan(each).errors)


@cache
def bench_console(bench: Bench) -> Console:
    """Return a planned console with its image."""
    plan = bench_plan(bench)
    with tempfile.TemporaryDirectory() as folder:
        sketch = write_sketch(plan, Path(folder)).folder
        return Console(plan, build_bare(sketch) if plan.board == "rp2040" else build_sketch(sketch, plan.board))


def bench_plan(bench: Bench) -> ConversionPlan:
    """Return the plan of a console, with the clock of its chain and the pace put to what is to be measured."""
    plan = plan_conversion(_job(bench), load_catalogue())
    layout = replace(plan.layout, spi_hz=bench.spi_hz)
    return replace(plan, layout=layout, tick_us=bench.tick_us or plan.tick_us)


def _job(bench: Bench) -> Job:
    manuals = [_manual(number, keys, bench) for number, keys in enumerate(bench.keys, 1)]
    return Job.model_validate(
        {
            "format": 1,
            "instrument": {"name": "bench (invented)", "invented": True},
            "wanted": {"power_on_wait_s": 0.1, "board": bench.board, "midi_out": "usb" if bench.usb else "din"},
            "divisions": [{"id": division} for division in _divisions(manuals)],
            "groups": manuals,
        }
    )


def _manual(number: int, keys: int, bench: Bench) -> dict[str, Any]:
    sets = [{"id": f"set-{each}", "division": f"division-{number}-{each}"} for each in range(bench.contacts_per_key)]
    return {
        "id": f"manual-{number}",
        "kind": "manual",
        "division": sets[0]["division"],
        "compass": {"lowest": LOWEST_NOTE, "count": keys},
        "contacts": sets,
        "wiring": {"owner": "us", "contact": "silver-leaf", "bounce": "3 ms", "cable_length": "0.5"},
        "wanted": {
            "interface": "chain",
            "sense": "pull-up",
            "debounce": COUNTED if bench.counted else FIRST_EDGE,
        },
    }


def _divisions(manuals: Sequence[dict[str, Any]]) -> list[str]:
    return [contacts["division"] for manual in manuals for contacts in manual["contacts"]]
