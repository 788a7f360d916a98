"""A stepped shoe as a resistor ladder: contacts that short resistors one after another, one more to the supply."""

from __future__ import annotations

from retrofit.circuits.result import Result
from retrofit.circuits.sense.design import Judged

GAP = "gap between two neighbouring steps of the ladder"
READ_COUNTS = 4
"""Counts of the converter that two steps must be apart; common practice, no source."""


def step_volts(supply: float, top: float, step: float, left: int) -> float:
    """Return the level with `left` step resistors not shorted: V·n·R/(Rtop + n·R)."""
    return supply * left * step / (top + left * step)


def ladder_volts(supply: float, top: float, step: float, steps: int) -> tuple[float, ...]:
    """Return the level of every position, from all contacts open to all closed."""
    return tuple(step_volts(supply, top, step, left) for left in range(steps, -1, -1))


def worst_gap(supply: float, top: float, step: float, steps: int, tolerance: float) -> tuple[float, int]:
    """Return the least gap between neighbours with every resistor at its worst, and the contact that makes the step.

    Below nothing when the two overlap, so that no fixed threshold lies between them.
    """
    low, high = 1 - tolerance, 1 + tolerance
    gaps = (
        step_volts(supply, top * high, step * low, left) - step_volts(supply, top * low, step * high, left - 1)
        for left in range(steps, 0, -1)
    )
    return min((gap, contact) for contact, gap in enumerate(gaps, 1))


def judge_ladder(supply: float, top: float, step: float, steps: int, tolerance: float, converter_bits: int) -> Judged:
    """Return the least gap against what the converter tells apart; the supply is also the converter's reference."""
    gap, contact = worst_gap(supply, top, step, steps, tolerance)
    limit = READ_COUNTS * supply / 2**converter_bits
    corner = f"contact {contact} of {steps}, resistors {100 * tolerance:g} %"
    return Judged(GAP, Result(1e3 * gap, 1e3 * limit, "mV", at_least=True, corner=corner))
