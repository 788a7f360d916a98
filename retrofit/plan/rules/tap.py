"""Rules about where the organ's lines are touched, because the place decides what the MIDI will do."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.plan.rules.sensing import organ_groups
from retrofit.plan.sensing.tap import AFTER_CAPACITOR, AFTER_COUPLER, SWITCHED_BUS
from retrofit.survey.base import Ternary

_KEYS = {
    AFTER_COUPLER: "wiring.dead.coupler_before_tap",
    AFTER_CAPACITOR: "wiring.decay_capacitor",
    SWITCHED_BUS: "wiring.dead.switched_by_stop",
}


def _wrong_place(question_id: str, found: str, allowed: str, remedy: str) -> Callable[[Facts], Iterator[Said]]:
    def check(facts: Facts) -> Iterator[Said]:
        for group, sensed in organ_groups(facts):
            for question in sensed.tap:
                if question.id == question_id and question.answer not in (question.wanted, Ternary.UNKNOWN):
                    subject = f"groups.{group.id}.{_KEYS[question_id]}"
                    yield Said(subject, f"{found}: {question.otherwise}", allowed, remedy)

    return check


def _not_asked(facts: Facts) -> Iterator[Said]:
    for group, sensed in organ_groups(facts):
        for question in sensed.tap:
            if question.answer is Ternary.UNKNOWN:
                yield Said(
                    f"groups.{group.id}.{_KEYS[question.id]}",
                    f"nobody has said: {question.question} (if so, {question.otherwise})",
                    "yes or no",
                    "look at the wiring, or play the instrument with and without the stop or coupler",
                )


RULES = (
    Rule(
        "late-note-off",
        "The tap lies after a decay capacitor",
        Severity.WARNING,
        "whether the tapped line decays, and how long it stays above the input's threshold",
        _wrong_place(
            AFTER_CAPACITOR,
            "the tapped line falls slowly after release",
            "a tap before the decay capacitor, where a note-off follows the key at once",
            "move the tap to the contact's side, or accept that every note-off comes late",
        ),
        why="The capacitor keeps the line up after the key has left it, and the input reads the line, not the key.",
        remedy="tap the contact's side of the isolating diode or resistor",
    ),
    Rule(
        "tap-after-coupler",
        "The tap lies after a coupler",
        Severity.WARNING,
        "whether a coupler feeds the tapped line",
        _wrong_place(
            AFTER_COUPLER,
            "a coupler feeds the line before the tap",
            "a tap on the player's side of the coupler",
            "move the tap to the key's own contact, or never send that coupler as a stop",
        ),
        why="After the coupler a line tells that the note sounds, not which manual was played.",
        remedy="tap the player's side, and send couplers as stops",
    ),
    Rule(
        "tap-on-switched-bus",
        "The tapped contacts are fed through a stop",
        Severity.WARNING,
        "whether the bus of the contacts is switched by a stop",
        _wrong_place(
            SWITCHED_BUS,
            "the bus of these contacts is fed through a stop",
            "contacts whose bus is always fed",
            "tap the manual's unswitched key contacts, or every such bus and join them in the plan",
        ),
        why="With the stop off the bus is dead, and so is every key on it.",
        remedy="tap contacts whose bus is always fed, or fit sensors at the keys",
    ),
    Rule(
        "tap-not-asked",
        "A question about the tap is open",
        Severity.NOTE,
        "couplers, decay capacitors and switched buses before the tap",
        _not_asked,
        why="The same wire in another place makes the MIDI late, doubled or dead; no reading of one line tells that.",
        remedy="ask, look, and write the answer down",
    ),
)
