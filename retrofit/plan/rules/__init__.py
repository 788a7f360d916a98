"""All rules in the order in which they are listed.  The order and the ids are part of what users rely on."""

from __future__ import annotations

from retrofit.plan.rules import (
    addresses,
    board_limits,
    description,
    diodes,
    doubtful,
    front_ends,
    ladders,
    levels,
    memory,
    messages,
    orders,
    originals,
    putback,
    recorded_messages,
    returns,
    safety,
    sensing,
    shoes,
    tap,
    timing,
    voltages,
    wiring,
)
from retrofit.plan.rules.rule import Rule

ALL_RULES: tuple[Rule, ...] = (
    *safety.RULES,
    *voltages.RULES,
    *originals.RULES,
    *putback.RULES,
    *sensing.RULES,
    *returns.RULES,
    *tap.RULES,
    *wiring.RULES,
    *diodes.RULES,
    *doubtful.RULES,
    *front_ends.RULES,
    *levels.RULES,
    *board_limits.RULES,
    *addresses.RULES,
    *messages.RULES,
    *recorded_messages.RULES,
    *orders.RULES,
    *timing.RULES,
    *shoes.RULES,
    *ladders.RULES,
    *description.RULES,
    *memory.RULES,
)

_BY_ID = {rule.id: rule for rule in ALL_RULES}


def rule_named(rule_id: str) -> Rule | None:
    """Return the rule with this id, or None."""
    return _BY_ID.get(rule_id)
