"""What a board's answers hold, as frozen values.  An answer that is too short for what it should hold is refused.

Bytes behind what is known here are passed over: a later board may answer more.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass

from retrofit.firmware.link.errors import AnswerError
from retrofit.firmware.link.words import BINS, NONE_8, NONE_16, Chip, Count, Flag, Kind, Store

_REMEDY = "start the command again; if it stays so, build and load the sketch with this version of the program"


@dataclass(frozen=True, slots=True)
class Who:
    """What a board says of itself in numbers."""

    table_format: int
    chip: Chip
    flags: Flag
    lanes: int
    runs: int
    groups: int
    shoes: int
    tick_us: int
    counts_per_us: int
    outlets: int
    free_bytes: int
    description_bytes: int
    capture_lanes: int
    remap_rows: int
    remap_rows_used: int
    restart_cause: int
    watchdog_restarts: int
    uptime_s: int


@dataclass(frozen=True, slots=True)
class LaneSeen:
    """Eight contacts: levels as read (1 is high), debounced states (1 is on), and those held since the start."""

    index: int
    level: int
    on: int
    muted: int


@dataclass(frozen=True, slots=True)
class ShoeSeen:
    """A shoe: converter counts now, the value sent, and the lowest and highest counts; None is not known."""

    index: int
    counts: int | None
    value: int | None
    lowest: int | None
    highest: int | None


@dataclass(frozen=True, slots=True)
class Pace:
    """How long the work of a tick took, in counts of the board's clock, of which there are `counts_per_us`."""

    counts_per_us: int
    tick_us: int
    late: int
    least: int | None
    most: int
    scans: int
    total: int


@dataclass(frozen=True, slots=True)
class Capture:
    """What is being captured: consecutive lanes of one group, from the first on."""

    first_lane: int
    lanes: int
    group: int
    rest_samples: int
    late: int


@dataclass(frozen=True, slots=True)
class Strokes:
    """How a contact bounced on closing, or on opening; lengths are in samples.

    `bins` counts strokes by their bounce: none, 1, 2 to 3, 4 to 7 and so on.
    """

    strokes: int
    edges_last: int
    edges_most: int
    shortest_first_stay: int | None
    longest_bounce: int
    bins: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Captured:
    """What was captured of one contact, and how many samples of the capture came late; None where that is not said."""

    contact: int
    on: bool
    spikes: int
    press: Strokes
    release: Strokes
    late: int | None = None


@dataclass(frozen=True, slots=True)
class RemapRow:
    """A contact that plays in place of another; both are None for a row that is not in use."""

    row: int
    rows_used: int
    store: Store | None
    contact: int | None
    plays: int | None


def who_of(payload: bytes) -> Who:
    """Return what the answer to `Kind.WHO` holds."""
    layout = "<7B H 2B H I 4B H I"
    numbers = list(_numbers(layout, Kind.WHO, payload))
    chip = numbers[1] if numbers[1] in set(Chip) else Chip.UNKNOWN
    return Who(numbers[0], Chip(chip), Flag(numbers[2] & 0x03), *numbers[3:])


def piece_of(kind: Kind, layout: str, payload: bytes) -> tuple[tuple[int, ...], bytes]:
    """Return the numbers at the head of an answer that brings bytes, and the bytes."""
    return _numbers(layout, kind, payload), payload[struct.calcsize(layout) :]


def lanes_of(payload: bytes) -> tuple[LaneSeen, ...]:
    """Return the lanes of an answer to `Kind.LANES`."""
    rows = _rows("<3B", Kind.LANES, payload)
    return tuple(LaneSeen(index, *row) for index, row in rows)


def shoes_of(payload: bytes) -> tuple[ShoeSeen, ...]:
    """Return the shoes of an answer to `Kind.SHOES`."""
    rows = _rows("<4H", Kind.SHOES, payload)
    return tuple(ShoeSeen(index, *map(_known_16, row)) for index, row in rows)


def counters_of(payload: bytes) -> dict[Count, int]:
    """Return what an answer to `Kind.COUNTERS` holds, without those that this board does not count."""
    (known,) = _numbers("<I", Kind.COUNTERS, payload)
    counts = [count for count in Count if known >> count & 1]
    most = max(counts, default=-1) + 1
    _, *numbers = _numbers(f"<I {most}H", Kind.COUNTERS, payload)
    return {count: numbers[count] for count in counts}


def pace_of(payload: bytes) -> Pace:
    """Return what an answer to `Kind.PACE` holds."""
    per_us, tick_us, late, least, most, scans, total = _numbers("<B 4H 2I", Kind.PACE, payload)
    return Pace(per_us, tick_us, late, _known_16(least), most, scans, total)


def capture_of(payload: bytes) -> Capture:
    """Return what an answer to `Kind.CAPTURE` holds."""
    return Capture(*_numbers("<5B", Kind.CAPTURE, payload))


def captured_of(payload: bytes) -> Captured:
    """Return what an answer to `Kind.CAPTURED` holds."""
    half = f"4B H {BINS}B"
    layout = f"<H 2B {half} {half}"
    contact, level, spikes, *rest = _numbers(layout, Kind.CAPTURED, payload)
    middle = len(rest) // 2
    late = next(iter(payload[struct.calcsize(layout) :]), None)  # an older board ends before it
    return Captured(contact, level != 0, spikes, _strokes(rest[:middle]), _strokes(rest[middle:]), late)


def _strokes(numbers: list[int]) -> Strokes:
    strokes, last, most, stay, longest, *bins = numbers
    return Strokes(strokes, last, most, None if stay == NONE_8 else stay, longest, tuple(bins))


def remap_of(payload: bytes) -> RemapRow:
    """Return what an answer to `Kind.REMAP` holds."""
    row, used, store, contact, plays = _numbers("<3B 2H", Kind.REMAP, payload)
    known = Store(store) if store in set(Store) else None
    return RemapRow(row, used, known, _known_16(contact), _known_16(plays))


def _known_16(number: int) -> int | None:
    return None if number == NONE_16 else number


def _numbers(layout: str, kind: Kind, payload: bytes) -> tuple[int, ...]:
    size = struct.calcsize(layout)
    if len(payload) < size:
        raise AnswerError(
            f"the answer to '{kind.words}' has {len(payload)} bytes, and {size} are expected at least", _REMEDY
        )
    return struct.unpack(layout, payload[:size])


def _rows(layout: str, kind: Kind, payload: bytes) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Yield index and numbers of each row behind the first index and the count."""
    first, count = _numbers("<2B", kind, payload)
    size = struct.calcsize(layout)
    for place in range(count):
        yield first + place, _numbers(layout, kind, payload[2 + place * size :])
