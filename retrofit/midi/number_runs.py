"""Numbers as people write them: consecutive ones drawn together."""

from __future__ import annotations

from collections.abc import Iterable


def number_runs(numbers: Iterable[int]) -> str:
    """Return numbers in order, consecutive ones drawn together: `3, 9, 12-31`; nothing for none."""
    drawn: list[list[int]] = []
    for number in sorted(set(numbers)):
        if drawn and number == drawn[-1][1] + 1:
            drawn[-1][1] = number
        else:
            drawn.append([number, number])
    return ", ".join(str(first) if first == last else f"{first}-{last}" for first, last in drawn)
