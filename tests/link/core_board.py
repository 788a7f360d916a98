"""The firmware's own core as a board on a port: compiled for this machine, its link bridged to a pseudo-terminal."""

from __future__ import annotations

import ctypes
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from retrofit.catalogue.load import load_catalogue
from retrofit.firmware.render import render_table
from retrofit.firmware.table import build_table
from retrofit.plan.model import ConversionPlan
from tests.firmware.build import compile_host, put_table
from tests.firmware.console import Console

TICKS_ASKED, TICKS_IDLE = 2, 10
"""Ticks that pass at one look for bytes, when there were some and when there were none.

A look that finds none has waited 5 ms, ten ticks of 500 µs: what is still busy on a real board is so on this one.
"""
_BYTES = 4096

Hand = Callable[[Console, int], None]
"""Moves the contacts of a console before each tick, by the tick's number."""


def _nobody(_: Console, __: int) -> None:
    """Leaves every contact alone."""


class CoreBoard:
    """Takes and gives the bytes of the link while ticks pass; `hand` plays meanwhile."""

    def __init__(self, library: Path, hand: Hand = _nobody) -> None:
        """Load the compiled core and switch it on."""
        self.console = Console(library)
        self.hand = hand
        self.tick = 0
        self.midi = b""
        self._core = ctypes.CDLL(str(library))
        self._buffer = ctypes.create_string_buffer(_BYTES)

    def __call__(self, content: bytes) -> bytes:
        """Let the board hear `content`, run a few ticks, and return what it says."""
        ticks = TICKS_ASKED if content else TICKS_IDLE
        while content:
            content = content[self._core.host_link_give(content, len(content)) :]
            self._run(ticks)
        self._run(ticks)
        count = self._core.host_link_take(self._buffer, _BYTES)
        return self._buffer.raw[:count]

    def restart(self) -> None:
        """Start the firmware again; what it keeps in its store stays."""
        self.console.reset()

    def take_until(self, counts: int) -> None:
        """Let every tick's work last until so many counts of its clock."""
        ctypes.c_uint16.in_dll(self._core, "host_tick_counts").value = counts

    def wait(self, ticks: int) -> None:
        """Wait until so many more ticks have passed, which whoever serves the port lets pass."""
        until = self.tick + ticks
        while self.tick < until:
            time.sleep(0.005)

    def _run(self, ticks: int) -> None:
        for _ in range(ticks):
            self.hand(self.console, self.tick)
            self.console.run()
            self.tick += 1
        self.midi = (self.midi + self.console.take())[-_BYTES:]


def compile_core(plan: ConversionPlan, folder: Path, capture_lanes: int | None = None) -> Path:
    """Compile the core with a plan's table and return the library; each needs a folder of its own."""
    table = build_table(plan, load_catalogue().boards[plan.board])
    if capture_lanes is not None:
        table = replace(table, sizes=replace(table.sizes, capture_lanes=capture_lanes))
    library = folder / "console.so"
    result = compile_host(put_table(folder, render_table(table)), library)
    assert result.returncode == 0, result.stderr
    return library
