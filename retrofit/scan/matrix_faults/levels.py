"""Whether a ghost is read for certain: the level that it leaves on its column, worst case, against the input's limit.

A ghost's current flows through two diodes and a short, or through three diodes of which one is reversed, and through
three contacts; other columns of the chord share part of the way.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from retrofit.catalogue.figures import CatalogueError
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, corners
from retrofit.circuits.sense.logic_input import LogicInput
from retrofit.circuits.sense.matrix_network import Matrix, forward_volts
from retrofit.scan.matrix_faults.chords import Chord
from retrofit.scan.matrix_faults.crossings import KeyMatrix
from retrofit.scan.matrix_faults.network import DiodeFault


class Sight(StrEnum):
    """Whether a ghost reads closed on this board."""

    SURE = "sure"
    NOT_SURE = "not sure"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class GhostLoad:
    """The most columns whose currents meet: in the faulty diode, and in the driver of the row that is read."""

    fault: int
    row: int


@dataclass(frozen=True, slots=True)
class GhostLevel:
    """The highest level of the ghosts of one fault, contacts left aside, against VIL at the same corner.

    `contact_ohms_max` is the resistance that each contact on the way may have while the ghost is still read for
    certain.  `result` and `contact_ohms_max` are None where something is unknown: `missing` says what.
    """

    fault: DiodeFault
    sight: Sight
    result: Result | None = None
    contact_ohms_max: float | None = None
    missing: str = ""


def heaviest_load(matrix: KeyMatrix, chords: Iterable[Chord]) -> GhostLoad:
    """Return the greatest load of any ghost of these chords."""
    fault = row = 0
    for chord in chords:
        columns: dict[int, set[int]] = {}
        for key in chord.keys:
            columns.setdefault(matrix.keys[key].row, set()).add(matrix.keys[key].column)
        fault = max(fault, *(len(held) - 1 for held in columns.values()))
        row = max(row, *(len(one | other) for one in columns.values() for other in columns.values()))
    return GhostLoad(fault, row)


def ghost_level(fault: DiodeFault, load: GhostLoad, behind: LogicInput, network: Matrix) -> GhostLevel:
    """Return whether the ghosts of a fault (shorted or reversed) are read for certain at a load."""
    if network.diode is None or network.row_ohms is None:
        missing = "the kind of diode" if network.diode is None else "the resistance of a row's driver"
        return GhostLevel(fault, Sight.UNKNOWN, missing=missing)
    shares = _diode_shares(fault, load)
    spans = {"supply": behind.supply, "pull_up": network.pull_up}
    try:
        found = [_at_corner(shares, load, behind, network, **corner) for corner in corners(**spans)]
    except CatalogueError as error:
        return GhostLevel(fault, Sight.UNKNOWN, missing=str(error))
    result = min((result for result, _ in found), key=lambda result: result.margin)
    tolerated = min(ohms for _, ohms in found)
    return _judged(fault, result, tolerated, network)


def _diode_shares(fault: DiodeFault, load: GhostLoad) -> tuple[int, ...]:
    """Return how many columns' currents each diode on the way carries, from the ghost's own key to the row."""
    reversed_one = (load.fault,) if fault is DiodeFault.REVERSED else ()
    return (1, *reversed_one, load.fault + 1)


def _at_corner(
    shares: tuple[int, ...], load: GhostLoad, behind: LogicInput, network: Matrix, *, supply: float, pull_up: float
) -> tuple[Result, float]:
    """Return the level at one corner and the resistance that each contact may have there.

    A column's current is taken as if nothing but its pull-up limited it, which is the most that it can be.
    """
    if network.diode is None or network.row_ohms is None:
        raise ValueError("the level of a ghost needs a diode and a row's driver")
    amps, cold = supply / pull_up, network.celsius.least
    drops = [forward_volts(network.diode, share * amps, cold) for share in shares]
    low = load.row * amps * network.row_ohms
    limit = behind.vil(supply)
    corner = (
        f"supply {supply:g} V, pull up {quantity(pull_up, 'Ω')}, row {low:.2g} V, "
        f"diodes {' + '.join(f'{drop:.3g}' for drop in drops)} V at {cold:g} °C"
    )
    result = Result(low + sum(drops), limit, "V", at_least=False, corner=corner)
    return result, result.margin / (amps * (1 + load.fault + load.fault + 1))


def _judged(fault: DiodeFault, result: Result, tolerated: float, network: Matrix) -> GhostLevel:
    if not result.passes:
        return GhostLevel(fault, Sight.NOT_SURE, result)
    if network.series_ohms is None:
        return GhostLevel(fault, Sight.UNKNOWN, result, tolerated, "the resistance of the contacts")
    sure = network.series_ohms.greatest <= tolerated
    return GhostLevel(fault, Sight.SURE if sure else Sight.NOT_SURE, result, tolerated)
