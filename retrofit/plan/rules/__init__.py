"""All rules in the order in which they are listed.  The order and the ids are part of what users rely on."""

from __future__ import annotations

from retrofit.plan.rules import (
    addresses,
    levels,
    messages,
    originals,
    putback,
    returns,
    safety,
    sensing,
    tap,
    timing,
    wiring,
)
from retrofit.plan.rules.rule import Rule

ALL_RULES: tuple[Rule, ...] = (
    *safety.RULES,
    *originals.RULES,
    *putback.RULES,
    *sensing.RULES,
    *returns.RULES,
    *tap.RULES,
    *wiring.RULES,
    *levels.RULES,
    *addresses.RULES,
    *messages.RULES,
    *timing.RULES,
)

_BY_ID = {rule.id: rule for rule in ALL_RULES}


def rule_named(rule_id: str) -> Rule | None:
    """Return the rule with this id, or None."""
    return _BY_ID.get(rule_id)
