"""The rows of the firmware's table as frozen values, each checked against the C type that will hold it.

The records follow `firmware_templates/core/table_shape.h` field by field.  Every row also carries what its comment
says: the id of the group or point, the user's own name for it, and where it is.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import IntEnum
from typing import Annotated, get_type_hints

TABLE_FORMAT = 3
"""Must equal TABLE_FORMAT of table_shape.h."""

LANE_BITS = 8
MATRIX_ROWS_MAX = 8


class TableError(ValueError):
    """The plan does not fit the firmware's table.  `subject` is the id of the group or point at fault."""

    def __init__(self, subject: str, found: str, allowed: str, remedy: str) -> None:
        super().__init__(f"{subject}: {found}; {allowed}; {remedy}")
        self.subject = subject


@dataclass(frozen=True, slots=True)
class Whole:
    """The whole numbers that a C field may hold."""

    low: int
    high: int


U8 = Annotated[int, Whole(0, 0xFF)]
U16 = Annotated[int, Whole(0, 0xFFFF)]
TICKS = Annotated[int, Whole(0, 1_000_000)]
SampleCount = Annotated[int, Whole(0, 63)]
DividerLog2 = Annotated[int, Whole(0, 6)]
StageCount = Annotated[int, Whole(0, 64)]
Flag = Annotated[int, Whole(0, 1)]


class RunSource(IntEnum):
    """`enum source`."""

    CHAIN = 0
    MATRIX = 1
    PORT = 2
    MULTIPLEXER = 3
    EXPANDER = 4
    LISTEN = 5


class Family(IntEnum):
    """`enum family`."""

    FIRST_EDGE = 0
    COUNTED = 1
    INTEGRATOR = 2


class Duty(IntEnum):
    """`enum duty`."""

    NOTES = 0
    PISTONS = 1
    STOPS = 2
    STAGES = 3


class Drive(IntEnum):
    """`enum drive`."""

    FLOATING = 0
    PUSH_PULL = 1


class ShoeKind(IntEnum):
    """`enum shoe_kind`."""

    CONVERTER = 0
    PROGRESSIVE = 1
    SELECTIVE = 2
    LADDER = 3

    @property
    def rows(self) -> str:
        """The macro that counts the rows of this kind's stages."""
        return "LADDER_ROWS" if self is ShoeKind.LADDER else "STAGE_ROWS"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What every row has: whom it serves, in ids, in the user's words, and where.  Raises `TableError` if unfit."""

    subject: str
    name: str = ""
    place: str = ""

    def __post_init__(self) -> None:
        for field_name, allowed in _LIMITS[type(self)].items():
            for value in _values(getattr(self, field_name)):
                _check(self.subject, field_name, value, allowed)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRow(Row):
    """`struct run`: consecutive lanes of one group from one source."""

    source: RunSource
    where: U8
    first_lane: U8
    lane_count: U8
    group: U8
    first_place: U8


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupRow(Row):
    """`struct group`: how a group's lanes are sampled and what becomes of a change."""

    family: Family
    press_count: SampleCount
    release_count: SampleCount
    hold_count: U8
    divider_log2: DividerLog2
    phase: U8
    duty: Duty
    shoe: U8
    hold_first: U16
    hold_slots: U16


@dataclass(frozen=True, slots=True, kw_only=True)
class LaneRow(Row):
    """`struct lane`: the used bits of a byte and those that read reversed."""

    used: U8
    invert: U8


@dataclass(frozen=True, slots=True, kw_only=True)
class MessageRow(Row):
    """`struct message`: three bytes when a contact goes on and three when it goes off; a zero status sends nothing."""

    on: tuple[U8, U8, U8] = (0, 0, 0)
    off: tuple[U8, U8, U8] = (0, 0, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MatrixRow(Row):
    """`struct matrix`: the pins of one matrix as port indexes and bit masks."""

    column_port: U8
    row_port: tuple[U8, ...]
    row_mask: tuple[U8, ...]
    settle_us: U8
    drive: Drive = Drive.FLOATING
    precharge_us: U8 = 0
    column_mask: U8 = 0xFF


@dataclass(frozen=True, slots=True, kw_only=True)
class BankRow(Row):
    """`struct bank`: the pins of one bank of multiplexers as port indexes and bit masks, lowest select line first."""

    common_port: U8
    select_port: tuple[U8, ...]
    select_mask: tuple[U8, ...]
    settle_us: U8


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpanderRow(Row):
    """A row of `expander_table`: the device's address on the bus."""

    address: Annotated[int, Whole(0x08, 0x77)]


@dataclass(frozen=True, slots=True, kw_only=True)
class ListenedRow(Row):
    """`struct listened`: a port of returns and the bits of it that are joined to one."""

    port: U8
    bits: U8


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoeRow(Row):
    """`struct shoe`: where a shoe is read, its curve or stages, and the controller that it sends."""

    kind: ShoeKind
    status: U8
    controller: U8
    converter: U8 = 0
    fine: Flag = 0
    stage_count: StageCount = 0
    first_stage: U16 = 0
    hysteresis: U8 = 0
    lowest: U16 = 0
    highest: U16 = 0xFFFF
    curve_counts: tuple[U16, ...] = ()
    curve_values: tuple[U16, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class StageRow(Row):
    """A row of `stage_table`: the contact of one stage, lane * 8 + bit."""

    contact: U16


LADDER_KEEP = 0xFF
"""Stands for the value of a stretch that keeps the last one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LadderRow(Row):
    """`struct ladder_step`: a stretch of a ladder's readings up to a count, and its value."""

    last: U16
    value: U8


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes(Row):
    """The generated sizes and settings: each field is the macro of the same name in capitals.

    The limits are those of table_checks.h.
    """

    table_format_of_file: U8 = TABLE_FORMAT
    lane_count: U8
    run_count: Annotated[int, Whole(0, 254)]
    group_count: U8
    matrix_count: Annotated[int, Whole(0, 11)]
    bank_count: Annotated[int, Whole(0, 11)]
    expander_count: Annotated[int, Whole(0, 8)]
    listen_ports: Annotated[int, Whole(0, 4)] = 0
    listen_strobe_port: U8 = 0
    listen_strobes: Annotated[int, Whole(1, 8)] = 1
    listen_active_low: Flag = 0
    listen_settle_us: U8 = 0
    listen_silent_ticks: Annotated[int, Whole(1, 0xFFFF)] = 1
    shoe_count: Annotated[int, Whole(0, 32)]
    stage_rows: Annotated[int, Whole(0, 2048)]
    ladder_rows: Annotated[int, Whole(0, 2048)] = 0
    converter_bits: Annotated[int, Whole(8, 16)] = 10
    channel_count: Annotated[int, Whole(0, 16)]
    register_count: U8
    hold_slots: U16
    counter_planes: Annotated[int, Whole(1, 6)]
    tick_us: U16
    spi_divider: U16
    bus_khz: Annotated[int, Whole(100, 400)]
    bus_period_ticks: Annotated[int, Whole(1, 64)]
    power_on_ticks: TICKS
    shoe_interval_ticks: U16
    running_status: Flag
    report_held: Flag
    midi_wire: Flag = 1
    midi_usb: Flag = 0
    listen_stops: Flag = 0
    panic_pistons: Flag = 0
    panic_first: U16 = 0
    panic_second: U16 = 0
    job_description_bytes: Annotated[int, Whole(0, 0x8000)] = 0
    link: Flag = 0
    capture_lanes: Annotated[int, Whole(0, 31)] = 0
    remap_rows: Annotated[int, Whole(0, 32)] = 0

    def macros(self) -> list[tuple[str, int]]:
        """Return the macro names and values in the order of the fields."""
        return [(name.upper(), getattr(self, name)) for name in _LIMITS[type(self)]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The whole table of one console."""

    job_name: str
    job_digest: str
    board: str
    sizes: Sizes
    runs: tuple[RunRow, ...]
    groups: tuple[GroupRow, ...]
    lanes: tuple[LaneRow, ...]
    messages: tuple[MessageRow, ...]
    matrices: tuple[MatrixRow, ...]
    banks: tuple[BankRow, ...]
    expanders: tuple[ExpanderRow, ...]
    shoes: tuple[ShoeRow, ...]
    stages: tuple[StageRow, ...]
    ladders: tuple[LadderRow, ...] = ()
    channels: tuple[int, ...]
    listened: tuple[ListenedRow, ...] = ()
    job_revision: str = ""
    job_description: bytes = b""


def _limits_of(row: type[Row]) -> dict[str, Whole]:
    hints = get_type_hints(row, include_extras=True)
    found = {field.name: _limit(hints[field.name]) for field in fields(row)}
    return {name: limit for name, limit in found.items() if limit is not None}


def _limit(hint: object) -> Whole | None:
    for part in (*getattr(hint, "__metadata__", ()), *getattr(hint, "__args__", ())):
        if isinstance(part, Whole):
            return part
        if (nested := _limit(part)) is not None:
            return nested
    return None


def _values(found: int | tuple[int, ...]) -> tuple[int, ...]:
    return found if isinstance(found, tuple) else (found,)


def _check(subject: str, field_name: str, value: int, allowed: Whole) -> None:
    if not allowed.low <= value <= allowed.high:
        raise TableError(
            subject,
            f"{field_name.replace('_', ' ')} is {value}",
            f"the firmware's table holds {allowed.low} to {allowed.high}",
            "make the group smaller or choose other settings for it",
        )


_ROWS = (
    RunRow,
    GroupRow,
    LaneRow,
    MessageRow,
    MatrixRow,
    BankRow,
    ExpanderRow,
    ListenedRow,
    ShoeRow,
    StageRow,
    LadderRow,
    Sizes,
)
_LIMITS: dict[type[Row], dict[str, Whole]] = {row: _limits_of(row) for row in _ROWS}
"""What each number field of a row may hold, in the order of the fields."""
