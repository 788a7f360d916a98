"""Rules about logic levels and wetting of contacts that are ours, worst case at the tolerance corners."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.circuits.pullup import PullUpResults
from retrofit.circuits.result import Result
from retrofit.plan.facts import Facts
from retrofit.plan.interfaces import PULLED_UP
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.wishes import Sense


def _broken(results: PullUpResults) -> Iterator[tuple[str, Result]]:
    named = (
        ("the margin of a closed contact's level", results.low_level),
        ("the margin of an open contact's level", results.high_level),
        ("the largest contact resistance that still reads closed", results.contact_tolerance),
        ("the voltage on an open contact", results.wetting_volts),
        ("the current through a closed contact", results.wetting_current),
    )
    return ((words, result) for words, result in named if not result.passes)


def _levels(facts: Facts) -> Iterator[Said]:
    for group, results in facts.levels.items():
        for words, result in _broken(results):
            yield Said(
                f"groups.{group}.wiring.contact_resistance",
                f"{words} is {result.figure} ({result.corner})",
                result.bound,
                "clean the contacts and read them again, or use a smaller pull-up",
            )


def _contact_kind(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        if facts.contacts_known and group.wiring.contact not in facts.contacts_known:
            yield Said(
                f"groups.{group.id}.wiring.contact",
                f"the kind of contact {group.wiring.contact!r} is not in the catalogue",
                ", ".join(facts.contacts_known),
                "choose one of these; unknown is one of them",
            )


def _pins_pulled_up(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        word = PULLED_UP.get(facts.interface_of(group.id))
        if word and group.wanted.sense in (Sense.PULL_DOWN, Sense.DIVIDER):
            yield Said(
                f"groups.{group.id}.wanted.sense",
                f"{group.wanted.sense.value} is wanted on {word}s, which the firmware pulls up",
                f"pull-up or optocoupler on {word}s",
                "choose one of these, or read the group by the chain",
            )


RULES = (
    Rule(
        "contact-kind-unknown",
        "A kind of contact is not in the catalogue",
        Severity.ERROR,
        "kind of contact with the catalogue",
        _contact_kind,
        why="The kind of contact stands for its bounce, its surface and the current that keeps it clean.",
        remedy="choose one of the catalogue; unknown is one of them",
    ),
    Rule(
        "pins-are-pulled-up",
        "A way of sensing does not suit pins that are pulled up",
        Severity.ERROR,
        "way of sensing with the interface",
        _pins_pulled_up,
        locked=True,
        why=(
            "The firmware pulls every pin of the board and of an expander up, so that none floats; a pull-down or a "
            "high-impedance divider works against that and gives no safe level."
        ),
        remedy="sense with a pull-up or an optocoupler, or read the group by the chain",
    ),
    Rule(
        "level-margin-short",
        "A contact's level or wetting misses its margin",
        Severity.WARNING,
        "levels, contact resistance and current with the limits of the input and of the contact's surface",
        _levels,
        why=(
            "What reads well on the bench reads wrongly in a warm console with tarnished contacts, when nothing "
            "is left at the worst corner."
        ),
        remedy="clean the contacts and read them again, or use a smaller pull-up",
    ),
)
