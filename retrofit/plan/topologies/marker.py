"""Marker bits at the far end of a chain: advice, which changes neither the layout nor the firmware."""

from __future__ import annotations

from retrofit.plan.topologies.model import MarkerAdvice

PATTERN = 0b00010111
"""Shifted, turned round or inverted it is another byte, so that a chain that slips by a bit does not pass."""
LEAST_TIED = 2
"""One input tied high and one tied low tell a dead wire from a live one."""


def marker_advice(registers: int, spare_at_end: int, hz: int | None) -> MarkerAdvice:
    """Return the advice for a chain of so many registers, the last with so many spare inputs."""
    pattern = f"{PATTERN:08b}"
    added_us = 8e6 / hz if hz else 0.0
    if spare_at_end >= LEAST_TIED:
        tie = f"or tie two of the {spare_at_end} spare inputs of the last register, one low and one high"
    else:
        tie = (
            f"the last register has {spare_at_end or 'no'} spare input{'s' if spare_at_end != 1 else ''} to tie instead"
        )
    sentence = (
        f"add a register beyond the last of {registers} with inputs H to A tied to {pattern} (1 to the supply, 0 to "
        f"the return): {registers + 1} registers, {added_us:.0f} µs more; {tie}"
    )
    return MarkerAdvice(registers + 1, pattern, added_us, sentence)
