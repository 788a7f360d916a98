"""A console that runs on this machine: the compiled core on a pretended board, driven from Python."""

from __future__ import annotations

import ctypes
import itertools
from pathlib import Path

from tests.firmware.build import compile_host, put_table
from tests.firmware.midi_file import Message, decode, last_status
from tests.firmware.table_text import ConsoleTable

_numbers = itertools.count()


class LaneState(ctypes.Structure):
    """The core's state of one lane, byte for byte."""

    _fields_ = (
        *((name, ctypes.c_uint8) for name in ("quiet", "listen", "attention", "sent", "muted", "invert")),
        ("group", ctypes.c_void_p),
    )

    quiet: int
    listen: int
    attention: int
    sent: int
    muted: int
    invert: int


class Row(ctypes.Structure):
    """A matrix row of the pretended board."""

    _fields_ = tuple(
        (name, ctypes.c_uint8)
        for name in ("port", "mask", "columns", "closed", "settle_us", "rise_us", "charge_us", "shorted")
    )

    port: int
    mask: int
    columns: int
    closed: int
    settle_us: int
    rise_us: int
    charge_us: int
    shorted: int


class Bank(ctypes.Structure):
    """A bank of multiplexers of the pretended board."""

    _fields_ = (
        ("used", ctypes.c_uint8),
        ("common_port", ctypes.c_uint8),
        ("select_port", ctypes.c_uint8 * 4),
        ("select_mask", ctypes.c_uint8 * 4),
        ("levels", ctypes.c_uint8 * 16),
        ("settle_us", ctypes.c_uint8),
        ("shown", ctypes.c_uint8),
    )


class Expander(ctypes.Structure):
    """An expander of the pretended bus."""

    _fields_ = (
        ("levels", ctypes.c_uint8 * 2),
        ("absent", ctypes.c_uint8),
        ("pointer", ctypes.c_uint8),
        ("registers", ctypes.c_uint8 * 22),
    )

    absent: int


class Strobe(ctypes.Structure):
    """A strobe of the pretended organ, and what a port of returns shows during it."""

    _fields_ = tuple(
        (name, ctypes.c_uint8)
        for name in ("port", "levels", "rest", "width_us", "return_port", "before", "returns", "settle_us")
    )


class Console:
    """One compiled table; everything is off and nothing was sent at first."""

    def __init__(self, library: Path) -> None:
        """Load the compiled library and switch the console on."""
        self._core = ctypes.CDLL(str(library))
        self.registers = (ctypes.c_uint8 * 256).in_dll(self._core, "host_registers")
        self.ports = (ctypes.c_uint8 * 11).in_dll(self._core, "host_ports")
        self.rows = (Row * 8).in_dll(self._core, "host_rows")
        self.banks = (Bank * 4).in_dll(self._core, "host_banks")
        self.expanders = (Expander * 8).in_dll(self._core, "host_expanders")
        self._bus_stuck = ctypes.c_uint32.in_dll(self._core, "host_bus_stuck")
        self._failures = ctypes.c_uint16.in_dll(self._core, "expander_failures")
        self._late_rounds = ctypes.c_uint16.in_dll(self._core, "expander_late_rounds")
        self._releases = ctypes.c_uint32.in_dll(self._core, "host_bus_releases")
        self.counts = (ctypes.c_uint16 * 16).in_dll(self._core, "host_counts")
        self.lanes = (LaneState * 255).in_dll(self._core, "lane_states")
        self._sent = (ctypes.c_uint8 * 65536).in_dll(self._core, "host_sent")
        self._count = ctypes.c_uint32.in_dll(self._core, "host_sent_count")
        self._stuck = ctypes.c_uint32.in_dll(self._core, "host_wire_stuck")
        self._shifted = ctypes.c_uint32.in_dll(self._core, "host_shifted")
        self._assumed = self._running = b""
        self._overflowed = ctypes.c_uint16.in_dll(self._core, "events_overflowed")
        self.switch_on()

    @property
    def library(self) -> ctypes.CDLL:
        """The compiled core and board themselves."""
        return self._core

    @property
    def core(self) -> ctypes.CDLL:
        """The compiled library, for what has no name here."""
        return self._core

    def switch_on(self) -> None:
        """Start again from power-on with every contact off."""
        self._core.host_begin()
        self._running = b""

    def reset(self) -> None:
        """Start the firmware again as any reset does; the contacts stay as they are."""
        self._core.console_begin()

    def run(self, ticks: int = 1) -> None:
        """Let `ticks` ticks pass, the wire sending at its own speed."""
        for _ in range(ticks):
            self._core.host_tick()

    def take(self) -> bytes:
        """The bytes sent since the last call."""
        sent = bytes(self._sent[: self._count.value])
        self._count.value = 0
        self._assumed, self._running = self._running, last_status(sent, self._running)
        return sent

    def messages(self) -> list[Message]:
        """The same as whole messages, running status resolved by a Standard MIDI File reader."""
        sent = self.take()
        return decode(sent if not sent or sent[0] & 0x80 else self._assumed + sent)

    def state(self, lane: int) -> int:
        """The debounced state of a lane, 1 for on."""
        return self.lanes[lane].quiet ^ self.lanes[lane].invert

    @property
    def overflowed(self) -> int:
        """Changes that met a full ring."""
        return self._overflowed.value

    @property
    def shifted(self) -> int:
        """Bytes taken from the chain in the last scan."""
        return self._shifted.value

    @property
    def failures(self) -> int:
        """Times that an expander did not answer."""
        return self._failures.value

    @property
    def late_rounds(self) -> int:
        """Rounds of the bus that had not ended when the next was due."""
        return self._late_rounds.value

    @property
    def bus_releases(self) -> int:
        """Times that the firmware gave the bus up."""
        return self._releases.value

    @property
    def between(self) -> int:
        """Reads of a matrix column between its levels."""
        return ctypes.c_uint32.in_dll(self._core, "host_columns_between").value

    @property
    def fights(self) -> int:
        """Moments at which a low output met a high one on a matrix."""
        return ctypes.c_uint32.in_dll(self._core, "host_columns_fights").value

    def strobe(self, strobe: Strobe) -> None:
        """Play one strobe of the organ's scanner."""
        self._core.host_strobe_play(ctypes.byref(strobe))

    @property
    def ignored(self) -> int:
        """Strobes that were not read."""
        return ctypes.c_uint16.in_dll(self._core, "listen_ignored").value

    @property
    def silences(self) -> int:
        """Times that a strobe fell silent."""
        return ctypes.c_uint16.in_dll(self._core, "listen_silences").value

    @property
    def values_replaced(self) -> int:
        """Values of shoes that were never sent because a newer one took their place."""
        return ctypes.c_uint16.in_dll(self._core, "shoe_values_replaced").value

    @property
    def shoe_faults(self) -> int:
        """Times that a shoe began to read beyond its bounds."""
        return ctypes.c_uint16.in_dll(self._core, "converter_faults").value

    def shoe_is_broken(self, shoe: int) -> int:
        """1 while a shoe reads beyond its bounds."""
        return int(self._core.converter_is_broken(shoe)) & 0xFF

    def shoe_reading(self, shoe: int) -> int:
        """The last reading of a shoe in counts."""
        return int(self._core.converter_reading(shoe)) & 0xFFFF

    def run_until_read(self, shoe: int) -> None:
        """Let ticks pass until a shoe has been read once more."""
        self._core.converter_ends_begin(shoe)
        while self.shoe_ends(shoe)[0] == 0xFFFF:
            self.run()

    def shoe_ends_begin(self, shoe: int) -> None:
        """Forget the extremes of a shoe's readings."""
        self._core.converter_ends_begin(shoe)

    def shoe_ends(self, shoe: int) -> tuple[int, int]:
        """The least and the greatest reading of a shoe since then."""
        return self._core.converter_lowest(shoe) & 0xFFFF, self._core.converter_highest(shoe) & 0xFFFF

    def shoes_repeat(self) -> None:
        """Let every shoe send its value again."""
        self._core.shoes_repeat()

    def hang_bus(self, hung: bool) -> None:
        """Let no step of the bus end any more, or let them end again."""
        self._bus_stuck.value = int(hung)

    def hold_wire(self, held: bool) -> None:
        """Stop the wire from sending, or let it go on."""
        self._stuck.value = int(held)


def build_console(folder: Path, table: ConsoleTable | str, *, patched: Path | None = None) -> Console:
    """Compile a table with the core and switch the console on; a fresh library each time, for C keeps its state."""
    text = table if isinstance(table, str) else table.text()
    home = put_table(folder / f"console{next(_numbers)}", text)
    library = home / "console.so"
    result = compile_host(home, library, patched=patched)
    assert result.returncode == 0, result.stderr
    return Console(library)
