"""What may flow between a line and our board while our own supply is off, and whether it does."""

from __future__ import annotations

from math import inf

from retrofit.circuits.result import Result
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.limits import BACK_FEED_AMPS, BACK_FEED_CURRENT_SHARE, BACK_FEED_SHIFT_SHARE
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.swing import State, Swing, swing_of

BACK_FEED = "current of the line while our supply is off"


def back_feed_allowances(line: Line) -> tuple[dict[str, float], tuple[str, ...]]:
    """Return the allowances that can be computed, in amperes by their reason, and what the others still need.

    The least of them counts: a fixed current, a share of the keyed current, and what shifts a state of the line by a
    share of its volts.  A line without a load of its own is judged by the shift alone.
    """
    allowances = {"the most allowed on any line": BACK_FEED_AMPS}
    missing = []
    if line.keyed_amps is None:
        missing.append("the current of the organ's own load through the contact")
    elif line.keyed_amps:
        allowances[f"{BACK_FEED_CURRENT_SHARE:.0%} of the keyed current"] = BACK_FEED_CURRENT_SHARE * abs(
            line.keyed_amps
        )
    swing = swing_of(line)
    if swing is None:
        return allowances, (*missing, "the line's idle and keyed volts")
    for state in (swing.idle, swing.keyed):
        if state.ohms is None:
            missing.append(f"the source resistance of the line, {state.name}")
        elif 0 < state.ohms.greatest < inf:
            reason = f"what shifts the {state.name} line by {BACK_FEED_SHIFT_SHARE:.0%}"
            allowances[reason] = BACK_FEED_SHIFT_SHARE * _volts_at_stake(state, swing) / state.ohms.greatest
    return allowances, tuple(missing)


def _volts_at_stake(state: State, swing: Swing) -> float:
    """Return the least volts of a state, or the swing for one that may be at 0 V."""
    low, high = state.volts.least, state.volts.greatest
    return min(abs(low), abs(high)) if low * high > 0 else swing.least_volts


def judge_back_feed(line: Line, amps: float, corner: str) -> Judged:
    """Return the current that flows with our supply off against the least allowance.

    Too much by a known allowance fails even while others are unknown; otherwise an unknown one leaves it unknown.
    """
    allowances, missing = back_feed_allowances(line)
    reason, limit = min(allowances.items(), key=lambda pair: pair[1])
    microamps = 1e6 * abs(amps)
    result = Result(microamps, 1e6 * limit, "µA", at_least=False, corner=f"{corner}; limit: {reason}")
    if missing and result.passes:
        return Judged(BACK_FEED, None, missing=" and ".join(missing))
    return Judged(BACK_FEED, result)
