"""What is known of one line: its readings with their errors, and what was read or answered once for its group."""

from __future__ import annotations

from dataclasses import dataclass, field

from retrofit.circuits.result import Span
from retrofit.survey.readings import Load, State

USUAL_METER_OHMS = 10e6
"""Input resistance of a digital meter on its DC volts ranges; common practice, no source."""
RESISTOR_TOLERANCE = 0.01
"""Tolerance of the meter's input and of the resistors on clip leads."""
METER_ACCURACY, METER_DIGITS = 0.01, 2
"""Error of a meter's volts: a share of the reading and a count of its last digit; common practice, no source."""
LOAD_OHMS = {Load.MEGOHM: 1e6, Load.HUNDRED_KILOHM: 100e3, Load.TEN_KILOHM: 10e3}
"""Resistors to return, the lightest first."""


@dataclass(frozen=True, slots=True)
class Taken:
    """One reading: volts with the meter's error either way; None where the meter gave no number."""

    state: State
    load: Load
    volts: float | None
    error_volts: float = 0.0
    ac_volts: float | None = None
    wanders: bool = False
    overload: bool = False

    @property
    def span(self) -> Span | None:
        """The volts between their errors."""
        return None if self.volts is None else Span(self.volts - self.error_volts, self.volts + self.error_volts)


def meter_error_volts(volts: float, last_digit_volts: float) -> float:
    """Return the error of a reading either way: 1 % and two digits."""
    return METER_ACCURACY * abs(volts) + METER_DIGITS * last_digit_volts


@dataclass(frozen=True, slots=True)
class Structure:
    """What is read or asked once for a group.  None is not known; infinity is what a meter shows as OL."""

    bus_to_supply_ohms: float | None = None
    line_to_return_ohms: float | None = None
    line_to_supply_ohms: float | None = None
    series_ohms: float | None = None
    diode_forward_volts: float | None = None
    diode_reverse_volts: float | None = None
    leaves: int | None = None
    fall_time_s: float | None = None
    frequency_hz: float | None = None
    switched_by_stop: bool | None = None
    sweeps: bool | None = None
    moves_by_itself: bool | None = None


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything that a line is judged by.

    `supply_volts` is what feeds the group's bus, signed.  `other_lines_volts` are the keyed volts of further lines of
    the group with the meter alone, each with its error.
    """

    taken: tuple[Taken, ...] = ()
    structure: Structure = field(default_factory=Structure)
    meter_ohms: float = USUAL_METER_OHMS
    supply_volts: float | None = None
    other_lines_volts: tuple[Span, ...] = ()

    def at(self, state: State, load: Load = Load.METER) -> Taken | None:
        """Return the latest reading of a state with a load."""
        return next((t for t in reversed(self.taken) if (t.state, t.load) == (state, load)), None)

    def volts(self, state: State, load: Load = Load.METER) -> float | None:
        """Return the volts of that reading."""
        taken = self.at(state, load)
        return None if taken is None else taken.volts

    def ohms_to_return(self, load: Load) -> Span:
        """Return what the meter and the resistor beside it are together, with their tolerance."""
        siemens = 1 / self.meter_ohms + (1 / LOAD_OHMS[load] if load in LOAD_OHMS else 0.0)
        return Span.around(1 / siemens, RESISTOR_TOLERANCE)

    def moved_share(self, state: State, load: Load) -> float | None:
        """Return the greatest share of the meter's own reading that a load may have taken away, errors counted."""
        alone, loaded = self.at(state), self.at(state, load)
        if alone is None or loaded is None or alone.volts is None or loaded.volts is None:
            return None
        most = abs(alone.volts) + alone.error_volts
        if most == 0:
            return 0.0
        return 1 - (abs(loaded.volts) - loaded.error_volts) / most
