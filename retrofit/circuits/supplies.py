"""What our sense inputs may take from a supply of the organ: sag, fuse, rectifier, and what headroom is left."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span, worst_corner
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.limits import FUSE_SHARE, ORGAN_SUPPLY_CHANGE_SHARE, RAIL_SHARE
from retrofit.circuits.supply_fit import SupplyFit

SAG = "change of the organ's supply with every sense input on"
FUSE = "share of the fuse's rating with everything on"
RECTIFIER = "current through the rectifier with everything on"
RATING = "share of a supply's rating"


@dataclass(frozen=True, slots=True)
class OrganSupply:
    """A supply of the organ with everything on: its least volts then, without their sign, and what is known of it.

    `full_amps` is the organ's own greatest current, `fuse_amps` and `rectifier_amps` are ratings; None is unknown.
    """

    full_volts: float
    full_amps: float | None
    fit: SupplyFit | None
    fuse_amps: float | None = None
    rectifier_amps: float | None = None


@dataclass(frozen=True, slots=True)
class Headroom:
    """The most that may be added to a supply, and what limits it; `unknown` names limits that could not be computed."""

    amps: float
    limited_by: str
    unknown: tuple[str, ...]


def sag_volts(added_amps: float, ohms: float) -> float:
    """Return how far a supply falls under an added current: ΔI·Rs."""
    return added_amps * ohms


def judge_sag(supply: OrganSupply, added_amps: float) -> Judged:
    """Return the change of the organ's supply, in percent of its volts with everything on."""
    if supply.fit is None:
        return Judged(SAG, None, missing="the supply's volts at two currents, for its source resistance")

    def percent(source: float) -> float:
        return 100 * sag_volts(added_amps, source) / supply.full_volts

    value, corner = worst_corner(percent, lowest=False, units={"source": "Ω"}, source=supply.fit.ohms)
    limit = 100 * ORGAN_SUPPLY_CHANGE_SHARE
    corner = f"{quantity(added_amps, 'A')} at {quantity(supply.full_volts, 'V')}, {corner}"
    return Judged(SAG, Result(value, limit, "% of the organ's supply", at_least=False, corner=corner))


def judge_fuse(supply: OrganSupply, added_amps: float) -> Judged:
    """Return how much of the fuse's rating the organ and we use together."""
    missing = [
        words
        for words, known in (
            ("the rating of the fuse", supply.fuse_amps),
            ("the organ's current with everything on", supply.full_amps),
        )
        if known is None
    ]
    if supply.fuse_amps is None or supply.full_amps is None:
        return Judged(FUSE, None, missing=" and ".join(missing))
    return Judged(FUSE, share_of_rating(supply.full_amps + added_amps, supply.fuse_amps, FUSE_SHARE))


def judge_rectifier(supply: OrganSupply, added_amps: float) -> Judged:
    """Return the rectifier's current against its rating; narrow above the share that is used of any supply."""
    if supply.rectifier_amps is None:
        return Judged(RECTIFIER, None, missing="the rating of the rectifier")
    if supply.full_amps is None:
        return Judged(RECTIFIER, None, missing="the organ's current with everything on")
    total, rating = supply.full_amps + added_amps, supply.rectifier_amps
    result = Result(total, rating, "A", at_least=False, corner=f"{quantity(supply.full_amps, 'A')} of the organ's own")
    return Judged(RECTIFIER, result, good_from=(1 - RAIL_SHARE) * rating)


def judge_rating(amps: float, rating_amps: float | None) -> Judged:
    """Return how much of a supply's rating is drawn."""
    if rating_amps is None:
        return Judged(RATING, None, missing="the rating of the supply")
    return Judged(RATING, share_of_rating(amps, rating_amps, RAIL_SHARE))


def share_of_rating(amps: float, rating_amps: float, share: float) -> Result:
    """Return a current in percent of a rating, against the share that may be used."""
    value, limit = 100 * amps / rating_amps, 100 * share
    return Result(
        value, limit, "% of the rating", at_least=False, corner=f"{quantity(amps, 'A')} of {quantity(rating_amps, 'A')}"
    )


def headroom(supply: OrganSupply) -> Headroom | None:
    """Return what may still be added to a supply within sag, fuse and rectifier; None when none of them is known.

    Never below 0 A: an organ that already loads its fuse beyond the share leaves nothing.
    """
    allowed = {
        "the sag of the supply": _sag_headroom(supply),
        "the fuse": _rating_headroom(supply.fuse_amps, supply.full_amps, FUSE_SHARE),
        "the rectifier": _rating_headroom(supply.rectifier_amps, supply.full_amps, 1.0),
    }
    known = {name: amps for name, amps in allowed.items() if amps is not None}
    if not known:
        return None
    name = min(known, key=lambda limit: known[limit])
    return Headroom(max(0.0, known[name]), name, tuple(limit for limit in allowed if limit not in known))


def _sag_headroom(supply: OrganSupply) -> float | None:
    if supply.fit is None:
        return None
    ohms = supply.fit.ohms.greatest
    return ORGAN_SUPPLY_CHANGE_SHARE * supply.full_volts / ohms if ohms else float("inf")


def _rating_headroom(rating: float | None, used: float | None, share: float) -> float | None:
    return None if rating is None or used is None else share * rating - used


def volts_at(fit: SupplyFit, amps: float) -> Span:
    """Return the volts of a supply at a current, beyond what was read too: V = Voc − I·Rs at the ends of both."""
    return Span(fit.open_volts.least - amps * fit.ohms.greatest, fit.open_volts.greatest - amps * fit.ohms.least)
