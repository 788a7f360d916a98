"""Runs a firmware image on the emulated console: a scenario goes in, what was seen comes out."""

from __future__ import annotations

import json
import subprocess
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.emulator.usb import AT_REST, UsbOrder, UsbSeen, usb_seen
from tests.tools import leave_out, require_tool

CLOCK_HZ = 16_000_000
CYCLES_PER_US = CLOCK_HZ // 1_000_000
HERE = Path(__file__).parent
RUNNERS = {"rp2040": "rp2040/run.mjs"}
"""Boards with an emulator of their own; moments are sixteenths of a microsecond there too."""

Event = tuple[float | int | str, ...]
"""`(cycle, kind, ...)`: `chain register bit level`, `matrix number row column closed`, `port letter bit level`,
`converter channel counts`, `multiplexer bank input bit level`, `expander number pin level`, `plug number fitted` (an
expander is taken off the bus or put back), `hold clocks` (a device holds the bus's data wire until it has been clocked
so often) or `listen strobe return closed`; all are counted from 0."""


def cycles(*, ms: float = 0, us: float = 0) -> int:
    """Return a time as cycles of the controller's clock."""
    return round((ms * 1000 + us) * CYCLES_PER_US)


QUIET_CYCLES = cycles(ms=60)
"""For so long nothing may have moved when a scan counts as quiet: longer than any debounce of a console runs."""


@dataclass(frozen=True)
class Chain:
    """A chain of parallel-in shift registers: how many, the pin of the parallel load, and the inputs at power-on.

    `late_cycles` is how much later than its bits the controller has a byte ready.
    """

    registers: int
    latch: tuple[str, int] = ("B", 0)
    initial: tuple[int, ...] = ()
    serial_level: int = 1
    late_cycles: int = 0

    def as_json(self) -> dict[str, Any]:
        """Return what the node side reads."""
        return {
            "registers": self.registers,
            "latch": _pin(self.latch),
            "initial": self.initial,
            "serial_level": self.serial_level,
            "late_cycles": self.late_cycles,
        }


@dataclass(frozen=True)
class Matrix:
    """A contact matrix: its row pins, its column port, and how long its columns take to fall, rise, and be charged."""

    rows: tuple[tuple[str, int], ...]
    column_port: str
    columns: int
    settle_cycles: int = 0
    rise_cycles: int | None = None
    charge_cycles: int = 0
    shorted_diodes: tuple[tuple[int, int], ...] = ()
    closed: tuple[tuple[int, int], ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return what the node side reads."""
        return {
            "rows": [_pin(row) for row in self.rows],
            "column_port": self.column_port,
            "columns": self.columns,
            "settle_cycles": self.settle_cycles,
            "rise_cycles": self.settle_cycles if self.rise_cycles is None else self.rise_cycles,
            "charge_cycles": self.charge_cycles,
            "diodes": [[row, column, "shorted"] for row, column in self.shorted_diodes],
            "closed": self.closed,
        }


@dataclass(frozen=True)
class Bank:
    """A bank of multiplexers: its pins, the levels of its inputs at power-on, and how long its commons take to settle.

    `levels` has a byte for each input, a bit for each multiplexer.  `on_share` is the switch's resistance as a part of
    the pull-up's.
    """

    select: tuple[tuple[str, int], ...]
    common_port: str
    levels: tuple[int, ...]
    settle_cycles: int = 0
    on_share: float = 0.01

    def as_json(self) -> dict[str, Any]:
        """Return what the node side reads."""
        return {**vars(self), "select": [_pin(line) for line in self.select]}


@dataclass(frozen=True)
class Scanner:
    """A keyboard that the organ scans: pins of its strobes and returns, levels, and times in cycles.

    `off` are spans in which the organ is off, `extra` strobes out of turn as (cycle, strobe, cycles long).
    """

    strobes: tuple[tuple[str, int], ...]
    returns: tuple[tuple[str, int], ...]
    period_cycles: float
    width_cycles: float
    settle_cycles: float
    jitter_cycles: float = 0
    active_low: bool = False
    keyed_high: bool = True
    off: tuple[tuple[float, float], ...] = ()
    extra: tuple[tuple[float, int, float], ...] = ()
    seed: int = 1

    def as_json(self) -> dict[str, Any]:
        """Return what the node side reads."""
        pins = {"strobes": [_pin(pin) for pin in self.strobes], "returns": [_pin(pin) for pin in self.returns]}
        return {**vars(self), **pins}


@dataclass(frozen=True)
class Expander:
    """An expander on the bus: its address, the levels of ports A and B at power-on, and whether it is there."""

    address: int
    levels: tuple[int, int] = (0xFF, 0xFF)
    away: bool = False


@dataclass(frozen=True)
class Track:
    """How a converter channel is noisy or worn: counts peak to peak, and one reading in so many that leaps away."""

    noise: int = 0
    leap_every: int = 0
    leap_counts: int = 1023
    seed: int = 1


@dataclass(frozen=True)
class Port:
    """Levels on one port: `contacts` are bits with a contact to ground, `driven` bits driven from outside."""

    levels: int = 0xFF
    contacts: int = 0
    driven: int = 0


@dataclass(frozen=True)
class Scenario:
    """One run: an image, a console, what happens to it, and what is to be kept of it.

    `midi_in` and `link_in` are bytes that come in, each with the cycle at which it is there.
    """

    hex: Path
    cycles: int
    chain: Chain | None = None
    matrices: tuple[Matrix, ...] = ()
    banks: tuple[Bank, ...] = ()
    expanders: tuple[Expander, ...] = ()
    scanner: Scanner | None = None
    ports: dict[str, Port] = field(default_factory=dict)
    converters: dict[int, int] = field(default_factory=dict)
    tracks: dict[int, Track] = field(default_factory=dict)
    events: tuple[Event, ...] = ()
    resets: tuple[tuple[int, str], ...] = ()
    board: str = "atmega2560"
    usb: UsbOrder = AT_REST
    midi_in: tuple[tuple[int, int], ...] = ()
    link_in: tuple[tuple[int, int], ...] = ()
    quiet_cycles: int = QUIET_CYCLES
    keep_marks: bool = False
    keep_loads: bool = False
    watch_vector: int = 0

    def as_json(self) -> dict[str, Any]:
        """Return what the node side reads, events in order of time."""
        return {
            "hex": str(self.hex),
            "cycles": self.cycles,
            "board": self.board,
            "chain": self.chain.as_json() if self.chain else None,
            "matrices": [matrix.as_json() for matrix in self.matrices],
            "banks": [bank.as_json() for bank in self.banks],
            "expanders": [vars(expander) for expander in self.expanders],
            "scanner": self.scanner.as_json() if self.scanner else None,
            "ports": {letter: vars(port) for letter, port in self.ports.items()},
            "converters": self.converters,
            "tracks": {channel: vars(track) for channel, track in self.tracks.items()},
            "events": sorted(self.events, key=lambda event: event[0]),
            "resets": self.resets,
            "midi_in": self.midi_in,
            "link_in": self.link_in,
            "usb": self.usb.as_json(),
            "quiet_cycles": self.quiet_cycles,
            "keep_marks": self.keep_marks,
            "keep_loads": self.keep_loads,
            "watch_vector": self.watch_vector,
        }


@dataclass(frozen=True)
class Seen:
    """What was seen.  `midi` and `link` hold the cycle at which each byte's start bit began, and the byte."""

    midi: tuple[tuple[int, int], ...]
    link: tuple[tuple[int, int], ...]
    usb: UsbSeen | None
    scans: dict[str, Any]
    marks: tuple[tuple[int, int], ...]
    chain: dict[str, Any]
    bus: dict[str, Any]
    scanner: dict[str, Any]
    interrupts: tuple[int, ...]
    problems: dict[str, int]
    restarts: tuple[tuple[int, str], ...]
    baud: float | None
    conversions: int
    events_applied: int
    lowest_stack: int
    instructions: int
    cycles: int
    wall_ms: float

    @property
    def sent(self) -> bytes:
        """All bytes in the order in which they left."""
        return bytes(byte for _, byte in self.midi)


def run(scenario: Scenario) -> Seen:
    """Run one scenario.  Raises `RuntimeError` with the emulator's own words when it cannot be run."""
    return run_order(scenario.as_json())


def run_order(scenario: dict[str, Any]) -> Seen:
    """Run one scenario as the node side reads it."""
    node = require_tool("node", "nodejs")
    library = "rp2040js" if scenario["board"] == "rp2040" else "avr8js"
    if not (HERE / "node_modules" / library).is_dir():
        leave_out(f"{library} is not installed; run npm ci in tests/emulator")
    with tempfile.TemporaryDirectory() as folder:
        order, answer = Path(folder, "scenario.json"), Path(folder, "result.json")
        order.write_text(json.dumps(scenario), encoding="utf-8")
        runner = HERE / RUNNERS.get(scenario["board"], "run.mjs")
        done = subprocess.run([node, runner, order, answer], capture_output=True, text=True, check=False)
        if done.returncode:
            raise RuntimeError(done.stderr.strip())
        return _seen(json.loads(answer.read_text(encoding="utf-8")))


def _seen(answer: dict[str, Any]) -> Seen:
    return Seen(
        midi=tuple((cycle, byte) for cycle, byte in answer["midi"]),
        link=tuple((cycle, byte) for cycle, byte in answer["link"]),
        usb=usb_seen(answer["usb"]) if answer["usb"] else None,
        scans=answer["scans"],
        marks=tuple((cycle, value) for cycle, value in answer["marks"] or ()),
        chain=answer["chain"] or {},
        bus=answer["bus"] or {},
        scanner=answer.get("scanner") or {},
        interrupts=tuple(answer.get("interrupts") or ()),
        problems=answer["problems"],
        restarts=tuple((cycle, cause) for cycle, cause in answer["restarts"]),
        baud=answer["baud"],
        conversions=answer["conversions"],
        events_applied=answer["events_applied"],
        lowest_stack=answer["lowest_stack"],
        instructions=answer["instructions"],
        cycles=answer["cycles"],
        wall_ms=answer["wall_ms"],
    )


def _pin(pin: tuple[str, int]) -> dict[str, Any]:
    return {"port": pin[0], "bit": pin[1]}
