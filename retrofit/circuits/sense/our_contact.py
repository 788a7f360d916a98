"""What the contacts that we feed ourselves have in common: which lines they may not be put on, and their edges."""

from __future__ import annotations

from math import inf, log

from retrofit.circuits.quantity import quantity
from retrofit.circuits.sense.audio import audio_refusals
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.logic_input import LogicInput

DEAD_VOLTS = 0.1
"""Below this a line counts as carrying nothing; common practice, no source."""


def our_line_refusals(line: Line) -> tuple[str, ...]:
    """Return why current of ours may not be put on this line: it is the organ's, carries volts, or carries sound."""
    reasons = list(audio_refusals(line))
    if not line.ours:
        reasons.append("the line is the organ's: no current of ours may flow into it; sense it without feeding it")
    spans = [span for span in (line.idle_volts, line.keyed_volts) if span is not None]
    found = max((max(abs(span.least), abs(span.greatest)) for span in spans), default=0.0)
    if line.ours and found > DEAD_VOLTS:
        reasons.append(f"the line carries {quantity(found, 'V')} that are not ours: disconnect its old feed first")
    return tuple(reasons)


def rc_us(ohms: float, farads: float, begin: float, settled: float, threshold: float) -> float:
    """Return the time from a level to a threshold on the way to another: R·C·ln((V0 − Vend)/(Vth − Vend)).

    Infinite when the threshold lies beyond the settled level.
    """
    if (threshold - settled) * (begin - settled) <= 0:
        return inf
    return max(0.0, 1e6 * ohms * farads * log((begin - settled) / (threshold - settled)))


def fed_ua(volts: float, ohms: float) -> float | None:
    """Return the current in microamperes that a short to our supply drives, None when nothing limits it."""
    return 1e6 * volts / ohms if ohms else None


def rc_remarks(logic: LogicInput, cable_pf: float | None) -> tuple[str, ...]:
    """Return what the delays leave out."""
    remarks = []
    if cable_pf is None:
        remarks.append("the cable's capacitance was not given: the delays leave it out")
    if logic.capacitance_pf is None:
        remarks.append(f"the capacitance of {logic.name} is not known: the delays leave it out")
    return tuple(remarks)
