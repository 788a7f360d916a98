"""How long a run waits, and what it lets pass.  Times are microseconds.

All figures are common practice, no source, where nothing else is said; a run's record keeps those that it was held to.
"""

from __future__ import annotations

from dataclasses import dataclass

SECOND_US = 1_000_000


@dataclass(frozen=True, slots=True)
class Limits:
    """The limits of one run.

    `idle_us`: how long nothing may be touched for the idle picture.  `pause_us`: a silence this long ends a run over a
    group.  `ask_us`: how long one asked press is waited for, `asks` times.  `remind_us`: after this silence a step that
    has not begun is announced again; after `give_up_us` it is left.  `hold_us`: how long a chord is held before it
    counts.  `soak_us`: the length of the soak.

    A contact fails with more than `bounces_most` further ons in one stroke, one of them after more than `bounce_us`.
    A shoe fails with a span below `span_least` of 1, more than `turns_most` turns within a sweep each way, a first or
    last value held for more than `dead_end_most` of its messages, or fewer than `values_least` values.
    """

    idle_us: int = 5 * SECOND_US
    pause_us: int = 8 * SECOND_US
    ask_us: int = 10 * SECOND_US
    asks: int = 2
    remind_us: int = 30 * SECOND_US
    give_up_us: int = 180 * SECOND_US
    hold_us: int = SECOND_US // 2
    soak_us: int = 30 * 60 * SECOND_US
    bounces_most: int = 1
    bounce_us: int = 8_000
    span_least: float = 0.9
    turns_most: int = 1
    dead_end_most: float = 0.25
    values_least: int = 5

    def bounces_too_much(self, bounces: int, longest_us: int) -> bool:
        """Return whether a contact bounces more than passes."""
        return bounces > self.bounces_most and longest_us > self.bounce_us
