"""An existing diode board recognised from readings: direction, rows, columns, keys, and what to press next."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from retrofit.scan.matrix_faults.key_order import KeyOrder, NextPress, find_order, out_of_order
from retrofit.scan.matrix_faults.readings import Contradiction, ContradictionKind, DiodeReading, sort_out


@dataclass(frozen=True, slots=True)
class BoardFound:
    """What is known of a diode board.

    Current enters at `columns` and leaves at `rows`, each in the order of their lowest key.  `crossings` maps a key to
    (row, column): those read and, once `order` is settled, those of every key.  `regular` is False when no regular
    order fits, so that every key must be read.  `next_press` is None when everything is named.
    """

    keys: tuple[int, ...]
    rows: tuple[str, ...]
    columns: tuple[str, ...]
    crossings: Mapping[int, tuple[str, str]]
    order: KeyOrder | None
    regular: bool
    contradictions: tuple[Contradiction, ...]
    next_press: NextPress | None

    @property
    def complete(self) -> bool:
        """True when every key has its crossing."""
        return len(self.crossings) == len(self.keys)


def fewest_presses(rows: int, columns: int) -> int:
    """Return the presses that name every pin of a regular matrix: one whole run, then a key of each other run."""
    return rows + columns - 1


def recognise(keys: Sequence[int], readings: Iterable[DiodeReading]) -> BoardFound:
    """Return what readings say of a board with these keys.

    Raises `ValueError` for a reading of a key that is not among them.
    """
    ordered, given = tuple(sorted(set(keys))), tuple(readings)
    strange = sorted({reading.key for reading in given} - set(ordered))
    if strange:
        raise ValueError(f"key {strange[0]} is not on this board; its keys are {ordered[0]} to {ordered[-1]}")
    believed, contradictions = sort_out(given)
    found = find_order(ordered, believed)
    if not found.explained and (odd := out_of_order(ordered, believed)) is not None:
        contradictions += (_out_of_order(believed[odd]),)
    pins = found.crossings or {key: (reading.from_pin, reading.to_pin) for key, reading in believed.items()}
    crossings = {key: (leaving, entering) for key, (entering, leaving) in sorted(pins.items())}
    return BoardFound(
        keys=ordered,
        rows=tuple(dict.fromkeys(row for row, _ in crossings.values())),
        columns=tuple(dict.fromkeys(column for _, column in crossings.values())),
        crossings=crossings,
        order=found.order,
        regular=found.explained,
        contradictions=contradictions,
        next_press=found.next_press,
    )


def _out_of_order(reading: DiodeReading) -> Contradiction:
    return Contradiction(
        ContradictionKind.OUT_OF_ORDER,
        (reading.key,),
        f"key {reading.key} ({reading.from_pin} to {reading.to_pin}) does not fit the order that all others follow",
        "hold it alone and read again; a crossed wire stays, and is put right in the order of contacts",
    )
