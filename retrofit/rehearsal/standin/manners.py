"""How a person plays: pace, care and slips.  The figures are assumed, within what is usual; no source."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Manner:
    """How a run is played.

    `pace_ms` is the mean time from one key to the next, of which the key is held for `held_share`; both are spread by
    `spread` (0 for a machine).  Of the keys `missed` are left out, `doubled` are struck twice, `brushed` are struck
    with a neighbour that is touched for a moment, and `again` are followed by going back one key.
    """

    pace_ms: float
    held_share: float = 0.5
    spread: float = 0.2
    missed: float = 0.0
    doubled: float = 0.0
    brushed: float = 0.0
    again: float = 0.0


EXACT = Manner(pace_ms=400, spread=0.0)
SLOW = Manner(pace_ms=900)
CLUMSY = Manner(pace_ms=700, spread=0.4, missed=0.03, doubled=0.04, brushed=0.04, again=0.02)
QUICK = Manner(pace_ms=150, held_share=0.6)
MANNERS = {"exact": EXACT, "slow": SLOW, "clumsy": CLUMSY, "quick": QUICK}
SHORTEST_HELD_MS = 30
"""A finger stays at least so long."""
SHORTEST_UP_MS = 40
BRUSH_MS = (15, 60)
"""A neighbour that is brushed is touched for a time between these."""
REACTION_MS = (300, 1500)
"""From being asked to pressing."""
