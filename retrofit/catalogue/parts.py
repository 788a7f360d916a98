"""The kinds of part that the catalogue holds, each a frozen record of figures."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from retrofit.catalogue.figures import CatalogueError, Figure, Read, SupplyTable


@dataclass(frozen=True, slots=True)
class Pin:
    """A pin of a board by the name printed on it, with the port and bit behind it.

    `reserved` says what the board keeps the pin for, `converter` is the analogue channel that it can also be.
    """

    name: str
    port: str
    bit: int
    reserved: str | None = None
    converter: int | None = None


@dataclass(frozen=True, slots=True)
class MidiSocket:
    """The 5-pin DIN socket of a MIDI output: its pins, and the resistors between the lines of the loop and the board.

    `series` lies between the supply and its pin of the socket, `series_data` between the data pins.
    """

    supply: int
    data: int
    shield: int
    series: Figure
    series_data: Figure


@dataclass(frozen=True, slots=True)
class Board:
    """A controller board: its pins in printed order and the limits of its inputs.

    `ports` are in the order of the firmware's port list; those of `strobe_ports` raise an interrupt for each of their
    pins.  `midi_outlets` are `din` and `usb`.  Fractions are of the supply voltage.
    """

    id: str
    name: str
    ports: tuple[str, ...]
    pins: tuple[Pin, ...]
    figures: dict[str, Figure]
    spi_dividers: tuple[int, ...]
    chain_pins: dict[str, str]
    midi_socket: MidiSocket
    bus_pins: dict[str, str]
    strobe_ports: tuple[str, ...] = ()
    midi_outlets: tuple[str, ...] = ("din",)

    def pin(self, name: str) -> Pin | None:
        """Return the pin of that printed name, or None."""
        return next((pin for pin in self.pins if pin.name == name), None)

    @property
    def clock_hz(self) -> int:
        """The controller's clock."""
        return round(self.figures["clock"].usual)

    @property
    def ram_bytes(self) -> int:
        """Data memory."""
        return round(self.figures["ram"].usual)

    @property
    def flash_bytes(self) -> int:
        """Program memory, with the part that the boot loader keeps."""
        return round(self.figures["flash"].usual)

    @property
    def boot_bytes(self) -> int:
        """Program memory that the boot loader keeps."""
        return round(self.figures["boot"].usual)


@dataclass(frozen=True, slots=True)
class Pinout:
    """Pins of a register's package by what they do; `inputs` are A to H, of which H is shifted out first.

    `source` and `read` say where they were printed, and how they came here.
    """

    inputs: tuple[int, ...]
    serial_out: int
    serial_in: int
    load: int
    clock: int
    clock_inhibit: int
    supply: int
    ground: int
    source: str
    read: Read


@dataclass(frozen=True, slots=True)
class Register:
    """A parallel-in shift register: limits against supply voltage and temperature.

    Times are in nanoseconds.  `propagation_ns` is clock to serial output at its slowest, `propagation_ns_min` at its
    fastest, `setup_ns` and `hold_ns` are those of the serial input.
    """

    id: str
    name: str
    propagation_ns: SupplyTable
    load_propagation_ns: SupplyTable
    data_propagation_ns: SupplyTable
    clock_width_ns: SupplyTable
    load_width_ns: SupplyTable
    recovery_ns: SupplyTable
    setup_ns: SupplyTable
    clock_max_mhz: SupplyTable
    vih_min: SupplyTable
    vil_max: SupplyTable
    transition_max_ns: SupplyTable
    figures: dict[str, Figure]
    pinout: Pinout


@dataclass(frozen=True, slots=True)
class ForwardDrop:
    """A row of a diode's table: the greatest forward voltage at a current."""

    current_ma: float
    volts: Figure


@dataclass(frozen=True, slots=True)
class Diode:
    """A small-signal diode."""

    id: str
    name: str
    forward: tuple[ForwardDrop, ...]
    figures: dict[str, Figure]

    def forward_max(self, current_ma: float) -> float:
        """Return the greatest forward voltage at the next printed current that covers `current_ma`.

        Raises `CatalogueError` above the printed currents.
        """
        covering = [row.volts.greatest for row in self.forward if row.current_ma >= current_ma]
        if not covering:
            raise CatalogueError(
                f"{self.name}: no forward voltage is printed at {current_ma:g} mA; "
                f"the table ends at {self.forward[-1].current_ma:g} mA"
            )
        return covering[0]


class Cleanliness(StrEnum):
    """Whether a kind of contact, once closed, stays closed until it is opened."""

    CLEAN = "clean"
    DIRTY = "dirty"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Contact:
    """A kind of contact.  `bounce` is in milliseconds and None when nothing may be assumed of the kind.

    `clean` kinds keep contact once made, so that their first edge can be believed.  `least_volts` and `least_ma` are
    what its surface wants to see (wetting).
    """

    id: str
    name: str
    cleanliness: Cleanliness
    bounce: Figure | None
    least_volts: Figure | None = None
    least_ma: Figure | None = None

    @property
    def first_edge(self) -> bool:
        """True when the first edge may be reported at once."""
        return self.cleanliness is Cleanliness.CLEAN and self.bounce is not None


@dataclass(frozen=True, slots=True)
class Cable:
    """A kind of cable: capacitance between a conductor and its neighbours, and travel time."""

    id: str
    name: str
    picofarads_per_metre: Figure
    nanoseconds_per_metre: Figure


@dataclass(frozen=True, slots=True)
class Multiplexer:
    """An analogue multiplexer, k inputs to one common."""

    id: str
    name: str
    inputs: int
    figures: dict[str, Figure]


@dataclass(frozen=True, slots=True)
class Expander:
    """A 16-bit port expander on the two-wire bus.  Fractions are of the supply voltage."""

    id: str
    name: str
    figures: dict[str, Figure]


@dataclass(frozen=True, slots=True)
class FirmwareCosts:
    """Processor cycles of a quiet scan on one board.

    `tick_base`: every tick, whatever is due.  `group`: each set of groups that are always due together, due or not.
    `group_due`: each such set that is due, on top.  `beyond_chain`: going on behind the chain, where there is anything
    but the chain.  `run`: opening a run of rows or ports.  `run_passed`: finding that a run is not due.  `chain_latch`:
    from loading the chain to the start of the first byte.  `chain_run`: opening a stretch of the chain, runs that are
    read as one.  `chain_lane_loop`: looking at one quiet byte.  `chain_gap`: from the end of one byte on the wire to
    the start of the next; `chain_gap_halves`: half periods of the chain's clock on top, where the serial port rests
    between bytes.  `chain_skip`: the least between two bytes that are only shifted through.  `chain_search`: looking,
    in each tick of a console that has a chain, for what of it is due.  `matrix_row`: a row without its settle wait.
    `matrix_driven`: on top where rows are always driven.  `matrix_charge`: on top where columns are charged, without
    the time of it.  `port_lane`: a port.  `listen_lane`: a port of returns, kept for a strobe.  `listen_read`: the
    interrupt of a strobe that is read, from its edge to its end without the settle wait, and `listen_port` each port of
    returns on top; `listen_pass`: the interrupt of the edge at which a strobe ends.  `listen_late`: from the edge of a
    strobe to the check behind its reading at worst, without the settle wait and the ports.  `bank_lane`: an input of a
    bank of multiplexers without its settle wait, and `select_line`: each select line on top.  `expander_lane`: a port
    of an expander, whose levels the bus has brought before.  `bus_step`: from the end of one step on the bus to the
    order of the next, between two ticks.  `event_handling`: from reading a changed lane to its first byte in the
    transmitter, while other contacts move too.  `main_loop_jitter`: the greatest delay of a tick by the work between
    ticks.  `lane_changed`: what a lane takes on top when contacts in it change, with first-edge debounce, and
    `lane_counted` with a debounce that counts; 0 where it was not measured.
    """

    board: str
    tick_base: int
    group: int
    group_due: int
    beyond_chain: int
    run: int
    run_passed: int
    chain_latch: int
    chain_run: int
    chain_lane_loop: int
    chain_gap: int
    chain_skip: int
    matrix_row: int
    port_lane: int
    bank_lane: int
    select_line: int
    expander_lane: int
    bus_step: int
    event_handling: int
    main_loop_jitter: int
    figures: dict[str, Figure]
    chain_gap_halves: int = 0
    matrix_driven: int = 0
    matrix_charge: int = 0
    listen_lane: int = 0
    listen_read: int = 0
    listen_port: int = 0
    listen_pass: int = 0
    listen_late: int = 0
    chain_search: int = 0
    lane_changed: int = 0
    lane_counted: int = 0
