"""The clock of a two-wire bus: the fastest at which a pull-up can be found for the capacitance that hangs on it."""

from __future__ import annotations

from dataclasses import dataclass

from retrofit.catalogue.parts import Board, Cable, Expander
from retrofit.circuits.settle import ASSUMED_CABLE_M
from retrofit.circuits.two_wire_bus import FAST_MODE, STANDARD_MODE, pull_up_window


@dataclass(frozen=True, slots=True)
class BusClock:
    """The clock chosen for a bus, and the least and greatest pull-up for it in ohms; both None when none can work.

    `farads` is what hangs on the worse of the two wires.
    """

    hz: int | None
    pull_up_ohms: tuple[float, float] | None
    farads: float
    assumptions: tuple[str, ...]


def highest_bus_hz(
    board: Board, expander: Expander, cable: Cable, devices: int, lengths_m: tuple[float | None, ...]
) -> BusClock:
    """Return the clock of a bus with so many expanders along all of these cables; one not measured is None."""
    metres = sum(ASSUMED_CABLE_M if length is None else length for length in lengths_m)
    pins_f = board.figures["pin_capacitance"].greatest + devices * expander.figures["bus_pin_capacitance"].greatest
    farads = metres * cable.picofarads_per_metre.greatest * 1e-12 + pins_f
    words = f"the cable of the two-wire bus to this group is taken as {ASSUMED_CABLE_M:g} m long"
    assumed = (words,) if None in lengths_m else ()
    for speed in (FAST_MODE, STANDARD_MODE):
        if window := pull_up_window(board.figures["supply"].greatest, farads, speed):
            return BusClock(round(speed.hertz), window, farads, assumed)
    return BusClock(None, None, farads, assumed)
