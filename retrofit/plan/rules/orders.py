"""Rules about what is ordered: a panic by its two pistons, and stops from outside."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.facts import Facts
from retrofit.plan.model import PointPlan, Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.points import PointKind
from retrofit.survey.problems import did_you_mean, listed

PANIC_PISTONS = 2


def _panic_pistons(facts: Facts) -> Iterator[Said]:
    named = facts.job.wanted.panic
    pistons = {plan.point.id for plan in facts.points if _is_read_piston(plan)}
    strangers = [point for point in named if point not in pistons]
    for point in strangers:
        yield Said(
            "wanted.panic",
            f"{point!r} is no piston that is read",
            listed(sorted(pistons)) or "pistons that take part",
            did_you_mean(point, sorted(pistons)) or "name two pistons as group.point, or take the line out",
        )
    if named and not strangers and len(set(named)) != PANIC_PISTONS:
        yield Said(
            "wanted.panic",
            f"{len(set(named))} piston is named: {', '.join(sorted(set(named)))}",
            "two pistons that are not held together in playing",
            "name a second piston, or take the line out",
        )


def _is_read_piston(plan: PointPlan) -> bool:
    return plan.point.kind is PointKind.PISTON and plan.point.takes_part and plan.address is not None


def _midi_input(facts: Facts) -> Iterator[Said]:
    wanted = facts.job.wanted
    if wanted.listen_to_stops and not wanted.by_usb:
        yield Said(
            "wanted.listen_to_stops",
            "orders for stops come in by DIN, and no input circuit is drawn here",
            "a MIDI IN socket joined to the receiving pin by an optocoupler (MIDI 1.0 electrical specification)",
            "fit one as the standard draws it, or listen by USB",
        )


RULES = (
    Rule(
        "panic-pistons-unfit",
        "The pistons of the panic are not two pistons that are read",
        Severity.ERROR,
        "pistons named under wanted.panic with those that take part",
        _panic_pistons,
        locked=True,
        why="Whoever needs the panic finds that nothing happens; no sketch can be written without its contacts.",
        remedy="name two pistons that take part, or take wanted.panic out",
    ),
    Rule(
        "midi-input-not-drawn",
        "MIDI comes in by a circuit that is not on the papers",
        Severity.NOTE,
        "orders for stops wanted with the outlets",
        _midi_input,
        why="A sender joined to the pin without its optocoupler joins two grounds, and may drive the pin too high.",
        remedy="fit the optocoupler of the standard, or listen by USB",
    ),
)
