"""How long the common of a multiplexer takes to show another input.

One pull-up stands at the common, so that it carries whichever input is selected.  The worst is an input that reads
high behind one that held the common low: the pull-up charges the common, the controller's pin and the line's cable.
The part breaks before it makes, so that the two inputs are never joined; what the common still holds of the first is
gone when the wait is over, and no reading needs to be thrown away.
"""

from __future__ import annotations

from retrofit.catalogue.parts import Board, Cable, Multiplexer
from retrofit.circuits.settle import ASSUMED_CABLE_M, SettleWait, rise_time_s, wait_us

TYPICAL_FACTOR = 2.0
"""Capacitances of which only a typical value is printed may be so much larger; common practice, no source."""


def common_settle(
    board: Board, multiplexer: Multiplexer, cable: Cable, *, cable_m: float | None, pull_up_ohms: float
) -> SettleWait:
    """Return the wait between selecting an input and reading the common; `pull_up_ohms` is the pull-up's greatest."""
    assumed = () if cable_m is not None else (f"the cable to the multiplexers is taken as {ASSUMED_CABLE_M:g} m long",)
    cable_f = (ASSUMED_CABLE_M if cable_m is None else cable_m) * cable.picofarads_per_metre.greatest * 1e-12
    own = multiplexer.figures["common_capacitance"].usual + multiplexer.figures["input_capacitance"].usual
    farads = cable_f + TYPICAL_FACTOR * own + board.figures["pin_capacitance"].greatest
    ohms = pull_up_ohms + multiplexer.figures["on_resistance"].greatest
    to_threshold_us = 1e6 * rise_time_s(ohms, farads, board.figures["vih_fraction"].least)
    corner = f"pull-up {pull_up_ohms:g} Ω, {farads * 1e12:.0f} pF"
    return SettleWait(farads * 1e12, to_threshold_us, wait_us(to_threshold_us), corner, assumed)
