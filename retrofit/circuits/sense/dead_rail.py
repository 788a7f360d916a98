"""Our rail while our supply is off and lines are held: how far their clamp currents lift it, and what bleeds it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from retrofit.circuits.eseries_values import Series, next_below
from retrofit.circuits.quantity import quantity
from retrofit.circuits.result import Result, Span
from retrofit.circuits.sense.design import Judged, Part
from retrofit.circuits.sense.loading import parallel_ohms
from retrofit.circuits.sense.resistor_bodies import body_for
from retrofit.circuits.sense.tap_network import CLAMP_VOLTS

DEAD_RAIL_VOLTS = 0.5
"""Below this no logic half wakes; common practice, no source."""
BLEEDER_TOLERANCE = 0.05
DEAD_RAIL = "our rail while our supply is off and the lines are held"


@dataclass(frozen=True, slots=True)
class Bleeder:
    """A resistor across our rail: what it leaves of the rail when dead, and what it costs alive, worst case."""

    part: Part
    dead: Result
    alive_ma: float
    alive_mw: float


def dead_line_amps(line_volts: float, series_ohms: float, clamp_volts: float = CLAMP_VOLTS.least) -> float:
    """Return what one held line feeds through its clamp into a rail at 0 V: (V − Vc)/R1, never below 0 A."""
    return max(0.0, (line_volts - clamp_volts) / series_ohms)


def dead_rail_volts(total_amps: float, load_ohms: float) -> float:
    """Return the volts on a dead rail, from above: every line goes on feeding what it feeds into 0 V."""
    return total_amps * load_ohms


def judge_dead_rail(total_amps: float, load_ohms: float | None, *, volts_below: float = DEAD_RAIL_VOLTS) -> Judged:
    """Return the volts on the dead rail; `load_ohms` is the greatest resistance of what hangs on it."""
    if load_ohms is None and total_amps > 0:
        return Judged(DEAD_RAIL, None, missing="what resistance our unpowered boards lay across their rail")
    value = dead_rail_volts(total_amps, load_ohms) if load_ohms is not None else 0.0
    corner = f"{quantity(total_amps, 'A')} from the held lines"
    return Judged(DEAD_RAIL, Result(value, volts_below, "V", at_least=False, corner=corner))


def choose_bleeder(
    total_amps: float, supply: Span, *, load_ohms: float = inf, volts_below: float = DEAD_RAIL_VOLTS
) -> Bleeder | None:
    """Return the greatest E24 resistor that keeps the dead rail below `volts_below`; None when none is needed.

    `load_ohms` is the greatest resistance of what already hangs on the rail; unknown is infinite, the worst.
    """
    if total_amps <= 0 or dead_rail_volts(total_amps, load_ohms) <= volts_below:
        return None
    needed = 1 / (total_amps / volts_below - 1 / load_ohms)
    ohms = next_below(Series.E24, needed / (1 + BLEEDER_TOLERANCE))
    return _bleeder(ohms, total_amps, supply, load_ohms, volts_below)


def _bleeder(ohms: float, total_amps: float, supply: Span, load_ohms: float, volts_below: float) -> Bleeder:
    span = Span.around(ohms, BLEEDER_TOLERANCE)
    volts = dead_rail_volts(total_amps, parallel_ohms(span.greatest, load_ohms))
    corner = f"{quantity(total_amps, 'A')} from the held lines, bleeder {quantity(span.greatest, 'Ω')}"
    dead = Result(volts, volts_below, "V", at_least=False, corner=corner)
    watts = supply.greatest**2 / span.least
    part = Part("across our rail", "resistor", ohms, "Ω", BLEEDER_TOLERANCE, body_for(watts, supply.greatest).words)
    return Bleeder(part, dead, 1e3 * supply.greatest / span.least, 1e3 * watts)
