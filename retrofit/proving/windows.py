"""How close in time the messages of one group can belong together, by its plan.  Times are microseconds.

What the board can say at all follows from its sampling and debounce; what no hand can do is the other bound.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from retrofit.plan.model import GroupPlan
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.choose import ContactBounce
from retrofit.timing.debounce import Debounce
from retrofit.timing.human import KEY_UP
from retrofit.timing.wire import BYTE_US_MAX

KEY_UP_US = int(KEY_UP.least * 1000)
"""No finger lets a key go and has it down again in less."""
_MESSAGE_US = 3 * BYTE_US_MAX


@dataclass(frozen=True, slots=True)
class Windows:
    """The windows of one group.

    An on that comes sooner than `retrigger_us` after its off is no hand's.  Contacts that closed in one instant are
    heard within `instant_us`.  `cycle_us` is the least time between two ons of one contact that the board can say,
    `grid_us` how wrong an interval between two messages may be, and messages of one sample follow each other within
    `burst_us`.
    """

    retrigger_us: int = KEY_UP_US
    instant_us: int = KEY_UP_US - 1
    cycle_us: int = 0
    grid_us: int = math.ceil(_MESSAGE_US)
    burst_us: int = math.ceil(2 * _MESSAGE_US)


def windows_of(group: GroupPlan) -> Windows:
    """Return the windows of a planned group of contacts.

    A retrigger is one that the longest known bounce can cause, once the board is able to say on again; where the bounce
    is unknown the quickest finger is the bound.  `instant_us` stays below that finger's, so that a contact's own next
    stroke is never taken for company.
    """
    debounce = group.debounce or Debounce(DebounceFamily.CONSECUTIVE)
    jitter_us = group.path.jitter_us if group.path else 0.0
    message_us = group.path.message_us if group.path else _MESSAGE_US
    grid_us = group.period_us + jitter_us + message_us
    again_us = _again_samples(debounce) * group.period_us + _bounce_us(group.bounce) + jitter_us + message_us
    return Windows(
        retrigger_us=max(KEY_UP_US, math.ceil(again_us)),
        instant_us=min(KEY_UP_US - 1, math.ceil(group.press_latency_us_max + message_us)),
        cycle_us=_cycle_samples(debounce) * group.period_us,
        grid_us=math.ceil(grid_us),
        burst_us=math.ceil(grid_us + message_us),
    )


def _again_samples(debounce: Debounce) -> int:
    """Return how many samples after an off an on may be said."""
    return debounce.hold if debounce.family is DebounceFamily.FIRST_EDGE else debounce.press


def _cycle_samples(debounce: Debounce) -> int:
    return 2 * debounce.hold if debounce.family is DebounceFamily.FIRST_EDGE else debounce.press + debounce.release


def _bounce_us(bounce: ContactBounce | None) -> float:
    """Return the longest bounce that is known, 0 where none is."""
    known = () if bounce is None else (bounce.measured_ms, bounce.kind_max_ms)
    return max((ms * 1000 for ms in known if ms is not None), default=0.0)
