"""Hum that a computer's lead brings: a current at mains frequency through a return that the signal shares."""

from __future__ import annotations

from math import log10, pi

from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import Judged

QUIET_DB = -60.0
"""Hum is to stay this far below the signal; common practice, no source."""
QUIET_GOOD_DB = -70.0
"""And is more than narrow from here on; common practice, no source."""
HUM = "hum in the shared return against the signal"


def leak_amps(volts: float, hertz: float, farads: float) -> float:
    """Return the current through a capacitance from the mains: 2π·f·C·V."""
    return 2 * pi * hertz * farads * volts


def loop_amps(volts: float, ohms: float) -> float:
    """Return the current round an earth loop: V/R."""
    return volts / ohms


def shared_volts(amps: float, ohms: float) -> float:
    """Return the hum across the shared part of a return: I·R."""
    return amps * ohms


def level_db(volts: float, signal_volts: float) -> float:
    """Return a hum against a signal in decibels: 20·log10(Vhum/Vsignal)."""
    return 20 * log10(volts / signal_volts)


def judge_hum(amps: float, shared_ohms: Span | None, signal_volts: float, *, how: str) -> Judged:
    """Return the hum level; `how` says in words by which way the current comes.

    `amps` is the greatest current and `signal_volts` the least signal.
    """
    if shared_ohms is None:
        return Judged(HUM, None, missing="the resistance of the return that signal and computer share")
    value = level_db(shared_volts(amps, shared_ohms.greatest), signal_volts)
    corner = (
        f"{how}: {quantity(amps, 'A')} through {quantity(shared_ohms.greatest, 'Ω')}, signal {1e3 * signal_volts:g} mV"
    )
    result = Result(value, QUIET_DB, "dB", at_least=False, corner=corner)
    return Judged(HUM, result, good_from=QUIET_DB - QUIET_GOOD_DB)
