"""What may flow between a line and our board while our own supply is off, and whether it does."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf

from retrofit.circuits.result import Result
from retrofit.circuits.sense.design import Judged
from retrofit.circuits.sense.limits import BACK_FEED_AMPS, BACK_FEED_CURRENT_SHARE, BACK_FEED_SHIFT_SHARE
from retrofit.circuits.sense.line import Line
from retrofit.circuits.sense.swing import State, Swing

BACK_FEED = "current of the line while our supply is off"


def back_feed_allowances(line: Line, state: State, swing: Swing) -> tuple[dict[str, float], tuple[str, ...]]:
    """Return the allowances of a state that can be computed, in amperes by their reason, and what the others need.

    The least of them counts: a fixed current, a share of the keyed current, and what shifts the line by a share of its
    volts.  A line without a load of its own is judged by the shift alone.
    """
    allowances, missing = {"the most on any line": BACK_FEED_AMPS}, []
    if line.keyed_amps is None:
        missing.append("the current of the organ's own load through the contact")
    elif line.keyed_amps:
        share = BACK_FEED_CURRENT_SHARE * abs(line.keyed_amps)
        allowances[f"{BACK_FEED_CURRENT_SHARE:.0%} of the keyed current"] = share
    if state.ohms is None:
        missing.append(f"the source resistance of the line, {state.name}")
    elif 0 < state.ohms.greatest < inf:
        volts = BACK_FEED_SHIFT_SHARE * _volts_at_stake(state, swing)
        allowances[f"what shifts the {state.name} line by {BACK_FEED_SHIFT_SHARE:.0%}"] = volts / state.ohms.greatest
    return allowances, tuple(missing)


def _volts_at_stake(state: State, swing: Swing) -> float:
    """Return the least volts of a state, or the swing for one that may be at 0 V."""
    low, high = state.volts.least, state.volts.greatest
    return min(abs(low), abs(high)) if low * high > 0 else swing.least_volts


def judge_back_feed(line: Line, swing: Swing, off: Mapping[str, tuple[float, str]]) -> Judged:
    """Return the current with our supply off against the least allowance, in the state that has less room.

    `off` gives the amperes and their corner by the name of the state.  Too much by a known allowance fails even while
    others are unknown; otherwise an unknown one leaves it unknown.
    """
    results: list[Result] = []
    unknown: dict[str, None] = {}
    for state in (swing.idle, swing.keyed):
        allowances, missing = back_feed_allowances(line, state, swing)
        unknown |= dict.fromkeys(missing)
        reason, limit = min(allowances.items(), key=lambda pair: pair[1])
        amps, corner = off[state.name]
        words = f"{state.name}, {corner}; limit: {reason}"
        results.append(Result(1e6 * abs(amps), 1e6 * limit, "µA", at_least=False, corner=words))
    worst = max(results, key=lambda result: result.value / result.limit)
    if unknown and worst.passes:
        return Judged(BACK_FEED, None, missing=" and ".join(unknown))
    return Judged(BACK_FEED, worst)
