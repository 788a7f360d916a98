"""A latency budget as a bar of letters, one letter for each part, so that it needs no colour."""

from __future__ import annotations

from itertools import pairwise

from retrofit.timing.budget import Budget, Part

LETTERS = {
    Part.BOUNCE: "b",
    Part.CIRCUIT: "c",
    Part.SCAN: "s",
    Part.DEBOUNCE: "d",
    Part.LANE: "l",
    Part.HANDLING: "h",
    Part.INTERVAL: "i",
    Part.WIRE: "w",
}


def bar(budget: Budget, full_us: float, cells: int) -> str:
    """Return the parts of a budget as letters, on a scale on which `full_us` fills `cells`.

    The ends of the parts are rounded, not their lengths, so that the bar as a whole is as long as it should be.
    """
    ends = [0.0]
    for _, time_us in budget.all_parts:
        ends.append(ends[-1] + time_us)
    places = [round(end / full_us * cells) for end in ends]
    lengths = (after - before for before, after in pairwise(places))
    return "".join(LETTERS[part] * length for (part, _), length in zip(budget.all_parts, lengths, strict=True))


def legend(budgets: list[Budget]) -> str:
    """Return what the letters mean, for the parts that occur."""
    present = {part for budget in budgets for part, time_us in budget.all_parts if time_us}
    return "  ".join(f"{LETTERS[part]} {part}" for part in Part if part in present)


def figures(budget: Budget) -> str:
    """Return the parts with their milliseconds; parts of no length are left out."""
    return ", ".join(f"{part} {time_us / 1000:.2f}" for part, time_us in budget.all_parts if time_us) + " ms"
