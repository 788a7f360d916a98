"""What a sweep of a shoe shows: its span, whether it runs one way, and how much of it does nothing."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from retrofit.proving.runs.limits import Limits


class ShoeFigures(NamedTuple):
    """Figures of one sweep.  `span` is a part of 1, `turns` counts changes of direction, `dead_end` is the greater part
    of the messages that merely repeated the first or the last value."""

    least: int
    greatest: int
    span: float
    values: int
    turns: int
    longest_step: float
    dead_end: float

    def wrong(self, limits: Limits) -> tuple[str, ...]:
        """Return what passes a limit, each in words with figure and limit."""
        faults = (
            (self.span < limits.span_least, f"spans {self.span:.0%} of its range, at least {limits.span_least:.0%}"),
            (self.turns > limits.turns_most, f"turned {self.turns} times, {limits.turns_most} allowed: noise"),
            (self.values < limits.values_least, f"gave {self.values} values, at least {limits.values_least}"),
            (
                self.dead_end > limits.dead_end_most,
                f"stood still at an end for {self.dead_end:.0%} of its messages, at most {limits.dead_end_most:.0%}",
            ),
        )
        return tuple(words for fails, words in faults if fails)


def sweep_figures(values: Sequence[int], bits: int) -> ShoeFigures:
    """Return the figures of a sweep that sent these values of so many bits, at least one."""
    full = (1 << bits) - 1
    steps = [after - before for before, after in pairwise(values)]
    ways = [step > 0 for step in steps if step]
    least, greatest = min(values), max(values)
    return ShoeFigures(
        least=least,
        greatest=greatest,
        span=(greatest - least) / full,
        values=len(set(values)),
        turns=sum(before != after for before, after in pairwise(ways)),
        longest_step=max(map(abs, steps), default=0) / full,
        dead_end=max(_repeats(values), _repeats(values[::-1])) / len(values),
    )


def _repeats(values: Sequence[int]) -> int:
    """Return how many values at the beginning only repeat the first."""
    for count, value in enumerate(values):
        if value != values[0]:
            return count - 1
    return len(values) - 1
