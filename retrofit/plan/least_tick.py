"""The shortest tick at which the firmware can still count the debounce that the keys need.

A tick that the scan would allow may be so short that a bounce of some milliseconds is more samples than the firmware
counts.  Only keys matter: they are sampled at every tick, everything else more slowly.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from retrofit.catalogue.parts import Contact
from retrofit.plan.bounce import contact_bounce
from retrofit.plan.listening import bounce_as_kept
from retrofit.scan.period import TICKS_US
from retrofit.survey.contacts import Group, KeyGroup
from retrofit.survey.points import PointKind
from retrofit.timing.choose import COUNT_MAX, QUICK_REPEAT_US, choose_debounce


def least_tick_us(groups: Iterable[Group], contacts: Mapping[str, Contact]) -> int:
    """Return the shortest tick that serves every group of keys; the shortest of all when a longer one helps none."""
    return max((_least_for(group, contacts) for group in groups if isinstance(group, KeyGroup)), default=TICKS_US[0])


def _least_for(group: KeyGroup, contacts: Mapping[str, Contact]) -> int:
    return next((tick_us for tick_us in TICKS_US if _serves(group, contacts, tick_us)), TICKS_US[0])


def _serves(group: KeyGroup, contacts: Mapping[str, Contact], tick_us: int) -> bool:
    bounce = bounce_as_kept(group, contact_bounce(group, contacts))
    if bounce.span_us is None and group.wanted.debounce is None:
        return tick_us * COUNT_MAX >= QUICK_REPEAT_US
    chosen = choose_debounce(PointKind.KEY, tick_us, bounce, group.wanted.debounce)
    codes = {problem.code for problem in chosen.problems}
    counted_out = chosen.debounce.release == COUNT_MAX and "bounce-longer-than-debounce" in codes
    return not counted_out and "debounce-count-too-large" not in codes
