"""A branch of our wiring: its fuse, its wire, and the drop in a return that sensed lines share.

The fuse protects the wire: the branch's currents stay below it, and it stays below what the wire bears.
"""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.wire import awg_area_mm2
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.limits import FUSE_SHARE, RETURN_DROP_SHARE
from retrofit.circuits.supplies import share_of_rating
from retrofit.circuits.wire_gauge import (
    FUSE_AMPS,
    GAUGES,
    HOTTEST_WIRE_CELSIUS,
    conductor_ohms,
    wire_limit_amps,
)

FUSE_LOAD = "share of the branch's fuse that its currents use"
WIRE_LIMIT = "rating of the fuse against what the wire bears"
RETURN_DROP = "drop in the return that the sensed lines share"


@dataclass(frozen=True, slots=True)
class Branch:
    """A branch as chosen: American gauge (None for a wire that was given by its area), copper area and fuse."""

    gauge: int | None
    area_mm2: float
    fuse_amps: float
    judged: tuple[Judged, ...]


def drop_volts(amps: float, ohms: float) -> float:
    """Return the drop along a conductor: I·R."""
    return amps * ohms


def judge_return_drop(amps: float, length_m: float | None, area_mm2: float | None, logic_volts: float) -> Judged:
    """Return the drop in a shared return, in percent of the least logic supply, the wire at its warmest."""
    if length_m is None or area_mm2 is None:
        missing = "the length of the shared return" if length_m is None else "the copper area of the shared return"
        return Judged(RETURN_DROP, None, missing=missing)
    value = 100 * drop_volts(amps, conductor_ohms(length_m, area_mm2, HOTTEST_WIRE_CELSIUS)) / logic_volts
    corner = f"{quantity(amps, 'A')} in {length_m:g} m of {area_mm2:.3g} mm² at {HOTTEST_WIRE_CELSIUS:g} °C"
    result = Result(value, 100 * RETURN_DROP_SHARE, "% of the logic supply", at_least=False, corner=corner)
    return Judged(RETURN_DROP, result)


def fuse_for(amps: float) -> float | None:
    """Return the least preferred rating of which `amps` use no more than the share allowed; None above the series."""
    return next((fuse for fuse in FUSE_AMPS if amps <= FUSE_SHARE * fuse), None)


def judge_branch(amps: float, length_m: float | None, area_mm2: float, logic_volts: float, fuse: float) -> Branch:
    """Return a branch with a given wire and fuse, judged."""
    limit = wire_limit_amps(area_mm2)
    corner = f"{area_mm2:.3g} mm² bears {quantity(limit, 'A')} in a bundle"
    judged = (
        Judged(FUSE_LOAD, share_of_rating(amps, fuse, FUSE_SHARE)),
        Judged(WIRE_LIMIT, Result(fuse, limit, "A", at_least=False, corner=corner)),
        judge_return_drop(amps, length_m, area_mm2, logic_volts),
    )
    return Branch(None, area_mm2, fuse, judged)


def choose_branch(amps: float, length_m: float | None, logic_volts: float) -> Branch | None:
    """Return the branch with the least fuse and the thinnest wire that keeps every limit; None when no wire does.

    While the length is unknown the drop is unknown too, and the wire is the thinnest that the fuse protects.
    """
    fuse = fuse_for(amps)
    if fuse is None:
        return None
    for gauge in reversed(GAUGES):
        branch = judge_branch(amps, length_m, awg_area_mm2(gauge), logic_volts, fuse)
        if all(judged.result is None or judged.result.passes for judged in branch.judged):
            return Branch(gauge, branch.area_mm2, fuse, branch.judged)
    return None
