"""The layout of one scan: lanes of eight contacts, runs of lanes, and the pins that they use.

A lane is eight contacts sampled in one byte: a chain register, a matrix row, a whole port of the board, the commons of
a bank of multiplexers with one input selected, a port of an expander, or a port of returns at one strobe of the organ's
own scanner.  Lanes are numbered in the order in which the firmware reads them: the chain first, then the matrices, the
ports, the multiplexers, the expanders and what is listened to.  A lane belongs to exactly one group, so that one
debounce serves it.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from retrofit.scan.addresses import Address, ConverterAddress
from retrofit.survey.wishes import MatrixDrive


class Source(StrEnum):
    """What a run of lanes is read from."""

    CHAIN = "chain"
    MATRIX = "matrix"
    PORT = "port"
    MULTIPLEXER = "multiplexer"
    EXPANDER = "expander"
    LISTEN = "listen"


@dataclass(frozen=True, slots=True)
class Lane:
    """Eight contacts read as one byte.

    `index` is the firmware's number.  `place` is the register (chain), the row (matrix), 0 (port),
    the selected input (multiplexers), 0 for port A and 1 for port B (expander), or the strobe (listening).
    `used` has a bit set for every bit that belongs to a point that takes part; `invert` is what the byte is
    exclusive-ored with so that a control that is "on" reads 1.  `points` holds the point id at each bit, or None.
    """

    index: int
    group: str
    source: Source
    where: str
    place: int
    used: int
    invert: int
    points: tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class Run:
    """Consecutive lanes of one group from one source: the firmware's unit of reading.

    `where` is "chain", the port letter, or as text the number of the matrix, of the bank of multiplexers, of the
    expander or of the port of returns, all counted from 1.
    """

    group: str
    source: Source
    where: str
    first_lane: int
    lane_count: int


@dataclass(frozen=True, slots=True)
class MatrixLayout:
    """A row/column matrix of the board's own pins: active-low rows, columns on one port pulled up.

    `precharge_us` is how long the columns are driven high behind each row, 0 for not at all; `rise_us` is the wait that
    they need without.
    """

    number: int
    row_pins: tuple[str, ...]
    column_port: str
    columns: int
    settle_us: float
    drive: MatrixDrive = MatrixDrive.FLOATING
    precharge_us: float = 0.0
    rise_us: float = 0.0


@dataclass(frozen=True, slots=True)
class BankLayout:
    """Up to eight multiplexers of one kind, whose commons lie on the bits of one port and share their select lines.

    `number` counts from 1; `multiplexers` is how many are fitted, from bit 0 up; `inputs` is how many each has.
    `select_pins` are the board's pins for the select lines, lowest first.
    """

    number: int
    common_port: str
    select_pins: tuple[str, ...]
    multiplexers: int
    inputs: int
    settle_us: float


@dataclass(frozen=True, slots=True)
class ListenLayout:
    """The organ's scanner as it is listened to: strobes on one port, returns on others, a bit mask for each of these.

    A strobe that is silent for `silent_us` has its keys off; `round_us_least` is the shortest time from one strobe of a
    line to its next.
    """

    strobe_port: str
    strobe_pins: tuple[str, ...]
    active_low: bool
    return_ports: tuple[str, ...]
    return_bits: tuple[int, ...]
    settle_us: float
    silent_us: float
    round_us_least: float


@dataclass(frozen=True, slots=True)
class ScanLayout:
    """Every lane in reading order, the runs over them, and what they occupy on the board.

    `expanders` are the numbers of those on the bus, which is clocked at `bus_hz`.
    `pins` maps a board pin name to what it is used for.  `spare` lists addresses that are read but unused.
    `addresses` maps point id to address; points on a shared line appear once, under the first.
    """

    lanes: tuple[Lane, ...]
    runs: tuple[Run, ...]
    registers: int
    spi_hz: int | None
    matrices: tuple[MatrixLayout, ...] = ()
    banks: tuple[BankLayout, ...] = ()
    expanders: tuple[int, ...] = ()
    bus_hz: int | None = None
    listener: ListenLayout | None = None
    converters: dict[str, ConverterAddress] = field(default_factory=dict)
    addresses: dict[str, Address] = field(default_factory=dict)
    pins: dict[str, str] = field(default_factory=dict)
    spare: tuple[str, ...] = ()
