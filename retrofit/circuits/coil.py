"""Coils of stop-action magnets: their current, the heat of their drivers, the kick, and banks fired in groups."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log, sqrt

from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import Judged, Verdict
from retrofit.circuits.sense.limits import RAIL_SHARE
from retrofit.circuits.supplies import judge_rating

BANK = "current of the magnets that fire together"
RELEASE = "time for a coil's current to die behind its diode"


@dataclass(frozen=True, slots=True)
class Coil:
    """One coil: its resistance cold to warm, its supply, and its inductance (None: not known)."""

    ohms: Span
    volts: Span
    henries: Span | None = None


@dataclass(frozen=True, slots=True)
class Bank:
    """Coils fired in groups of `at_once`, each group for one pulse: the greatest current and how long it all takes."""

    coils: int
    at_once: int
    groups: int
    amps: float
    total_s: float
    judged: Judged


def coil_amps(volts: float, ohms: float) -> float:
    """Return the steady current of a coil: V/R."""
    return volts / ohms


def coil_joules(henries: float, amps: float) -> float:
    """Return the energy of a coil: L·I²/2."""
    return henries * amps**2 / 2


def decay_s(henries: float, ohms: float, amps: float, diode_volts: float, share: float) -> float:
    """Return the time for a coil's current to fall to a share through a diode: (L/R)·ln((I + Vd/R)/(x·I + Vd/R))."""
    through_diode = diode_volts / ohms
    return henries / ohms * log((amps + through_diode) / (share * amps + through_diode))


def kick_volts(volts: float, amps: float, henries: float, farads: float) -> float:
    """Return the most that an opened coil without a diode can reach: V + I·√(L/C), nothing lost on the way."""
    return volts + amps * sqrt(henries / farads)


def switch_watts(amps: float, ohms: float) -> float:
    """Return the heat of a transistor that conducts like a resistance: I²·R."""
    return amps**2 * ohms


def saturated_watts(amps: float, volts: float) -> float:
    """Return the heat of a transistor that keeps a voltage: I·V."""
    return amps * volts


def reservoir_farads(amps: float, seconds: float, droop_volts: float) -> float:
    """Return the capacitor that carries a current for a time with a droop: I·t/ΔV."""
    return amps * seconds / droop_volts


def stage_bank(coil: Coil, coils: int, at_once: int, pulse_s: float, rating_amps: float | None) -> Bank:
    """Return a bank fired in groups of `at_once`; `rating_amps` is that of the coils' supply, None if unknown."""
    groups = ceil(coils / at_once)
    amps = min(coils, at_once) * coil_amps(coil.volts.greatest, coil.ohms.least)
    judged = judge_rating(amps, rating_amps)
    return Bank(coils, at_once, groups, amps, groups * pulse_s, Judged(BANK, judged.result, judged.missing))


def largest_group(coil: Coil, rating_amps: float) -> int:
    """Return how many coils may fire together within the share of the supply's rating; 0 when not even one.

    A quotient a hair below a whole number is judged as the bank itself is, so that the two never disagree.
    """
    each = coil_amps(coil.volts.greatest, coil.ohms.least)
    about = round(RAIL_SHARE * rating_amps / each)
    return next((n for n in range(about + 1, 0, -1) if judge_rating(n * each, rating_amps).verdict is Verdict.GOOD), 0)


def judge_release(coil: Coil, diode_volts: float, share: float, most_s: float) -> Judged:
    """Return the longest time for a coil to let go behind a diode against what is allowed.

    `diode_volts` is the diode's least forward voltage, which holds the current longest.
    """
    if coil.henries is None:
        return Judged(RELEASE, None, missing="the inductance of the coil")
    henries, ohms = coil.henries.greatest, coil.ohms.least
    value = decay_s(henries, ohms, coil_amps(coil.volts.greatest, ohms), diode_volts, share)
    corner = f"{1e3 * henries:g} mH, {quantity(ohms, 'Ω')}, {coil.volts.greatest:g} V, diode {diode_volts:g} V"
    return Judged(RELEASE, Result(1e3 * value, 1e3 * most_s, "ms", at_least=False, corner=corner))
