"""Sizes of leaded resistor: the power and the voltage that each bears; common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.circuits.sense.limits import DISSIPATION_SHARE


@dataclass(frozen=True, slots=True)
class ResistorBody:
    """A size of resistor by its rated power and voltage."""

    watts: float
    volts: float

    @property
    def words(self) -> str:
        """The rating for a parts list."""
        return f"{self.watts:g} W, {self.volts:g} V"


BODIES = (ResistorBody(0.25, 250), ResistorBody(0.5, 350), ResistorBody(1, 500), ResistorBody(2, 500))


def body_for(watts: float, volts: float) -> ResistorBody:
    """Return the smallest size whose allowed share of power and whose voltage are enough, or the largest there is."""
    fitting = (body for body in BODIES if watts <= DISSIPATION_SHARE * body.watts and volts <= body.volts)
    return next(fitting, BODIES[-1])
