"""A rule about the returns of the organ's supplies, which our ground may join where they were apart."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.instrument import ChassisPole, Supply

_POLES = {
    ChassisPole.RETURN: "its return on the chassis",
    ChassisPole.LIVE: "its live pole on the chassis",
    ChassisPole.NEITHER: "no pole on the chassis",
}


def _supplies_of_joined_groups(facts: Facts) -> tuple[Supply, ...]:
    joined = facts.isolation.joined_groups if facts.isolation is not None else ()
    commons = (common for group in facts.job.groups if group.id in joined for common in group.wiring.commons)
    ids = {common.supply for common in commons}
    return tuple(supply for supply in facts.job.supplies if supply.id in ids)


def _returns_joined(facts: Facts) -> Iterator[Said]:
    supplies = _supplies_of_joined_groups(facts)
    known = [supply for supply in supplies if supply.chassis is not ChassisPole.UNKNOWN]
    if len({supply.chassis for supply in known}) > 1:
        found = "; ".join(f"{supply.id} has {_POLES[supply.chassis]}" for supply in known)
        yield Said(
            "supplies",
            f"our ground would join the returns of supplies that the organ keeps apart: {found}",
            "supplies whose returns are already one",
            "sense the groups of one of them with optocouplers, or give them a board and an isolated link of their own",
        )


RULES = (
    Rule(
        "returns-would-be-joined",
        "Our ground would join two returns of the organ",
        Severity.ERROR,
        "which pole of each supply is on the chassis, for all supplies whose lines share our ground",
        _returns_joined,
        locked=True,
        why="A supply with its live pole on the chassis is shorted when its return meets a return that is there.",
        remedy="Keep such groups apart from our ground with optocouplers, or sense them with a board of their own.",
    ),
)
