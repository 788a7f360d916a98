"""Rules that keep an instrument which is only listened to exactly as it was.  Most of them cannot be waived."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.facts import Facts
from retrofit.plan.interfaces import PULLED_UP
from retrofit.plan.long_commons import long_commons
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.base import Ternary
from retrofit.survey.contacts import GroupBase
from retrofit.survey.wiring import Owner
from retrofit.survey.wishes import Interface, Sense

_FEEDING = {Sense.PULL_UP: "a pull-up to our supply", Sense.PULL_DOWN: "our supply on the contacts"}
_LOOKING = "optocoupler (1-5 mA from the line) or divider (microamperes)"


def _organ_groups(facts: Facts) -> Iterator[GroupBase]:
    return (group for group in facts.job.groups if group.wiring.owner is Owner.ORGAN)


def _feeds_organ_line(facts: Facts) -> Iterator[Said]:
    for group in _organ_groups(facts):
        interface = facts.interface_of(group.id)
        if group.wanted.sense in _FEEDING:
            yield Said(
                f"groups.{group.id}.wanted.sense",
                f"the lines are the organ's and {_FEEDING[group.wanted.sense]} is wanted",
                "a line that the organ owns is looked at, never fed",
                f"choose {_LOOKING}, or sense a contact that is ours",
            )
        elif interface is Interface.MATRIX:
            yield Said(
                f"groups.{group.id}.wanted.interface",
                "the lines are the organ's and a matrix would drive its rows through them",
                "a line that the organ owns is looked at, never fed",
                f"choose the chain behind an {_LOOKING}",
            )
        elif (word := PULLED_UP.get(interface)) and group.wanted.sense is not Sense.OPTOCOUPLER:
            yield Said(
                f"groups.{group.id}.wanted.interface",
                f"the lines are the organ's and the pull-up that every {word} has would feed them",
                "a line that the organ owns is looked at, never fed",
                "choose the chain, whose inputs have no pull-up of their own, or an optocoupler before the input",
            )


def _bus_would_be_cut(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        if not facts.preserved(group) or facts.interface_of(group.id) is not Interface.MATRIX:
            continue
        for common, last in long_commons(group, facts.contacts_in(group.id)):
            yield Said(
                f"groups.{group.id}.wiring.commons",
                f"{common.name!r} joins contacts {common.first} to {last}, "
                f"and a matrix needs it in pieces of {group.wanted.matrix_columns}",
                "with originals preserved no bus is cut",
                "read this group by the chain, one line per contact",
            )


def _bus_must_be_split(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        if facts.preserved(group) or facts.interface_of(group.id) is not Interface.MATRIX:
            continue
        for common, last in long_commons(group, facts.contacts_in(group.id)):
            yield Said(
                f"groups.{group.id}.wiring.commons",
                f"{common.name!r} joins contacts {common.first} to {last}",
                f"a matrix row joins at most {group.wanted.matrix_columns} contacts",
                "split the bus into rows, or read this group by the chain and leave the bus whole",
            )


def _usb_without_barrier(facts: Facts) -> Iterator[Said]:
    wanted = facts.job.wanted
    if not any(facts.preserved(group) for group in facts.job.groups) or not wanted.by_usb:
        return
    if wanted.isolation_barrier is not Ternary.YES:
        yield Said(
            "wanted.isolation_barrier",
            f"MIDI leaves by USB and the isolation barrier is {wanted.isolation_barrier.value!r}",
            "with originals preserved the computer's earth never meets the organ's return",
            "fit a rated isolator and say isolation_barrier = true, or send MIDI by DIN, which isolates by design",
        )


def _service_lead(facts: Facts) -> Iterator[Said]:
    wanted = facts.job.wanted
    if any(facts.preserved(group) for group in facts.job.groups) and not wanted.by_usb:
        yield Said(
            "wanted.midi_out",
            "DIN isolates by design, until a USB lead for service joins the board to a computer",
            "the organ's return and the computer's earth stay apart during service too",
            "use an isolator, or a laptop on its battery, whenever the board is plugged in",
        )


def _audio_contacts(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        touches = group.wanted.sense not in (Sense.UNKNOWN, Sense.SENSOR)
        if group.wiring.carries_audio is Ternary.YES and touches and facts.preserved(group):
            yield Said(
                f"groups.{group.id}.wiring.carries_audio",
                "the contacts carry audio",
                "no direct voltage is put on, and no direct level read from, a contact that carries audio",
                "sense a spare leaf, or add a sensor that touches no circuit, and describe that as our own line",
            )


RULES = (
    Rule(
        "pull-up-on-organ-line",
        "A line that the organ owns would be fed by us",
        Severity.ERROR,
        "the owner of a group's lines with the way of sensing and the interface",
        _feeds_organ_line,
        locked=True,
        why=(
            "Current that we push into a line of the organ can speak a note, hold a magnet or feed a supply that "
            "should be dead, whenever either side is switched off."
        ),
        remedy="look at the line through a divider or an optocoupler, or sense a contact or a movement that is ours",
    ),
    Rule(
        "bus-would-be-cut",
        "A bus would have to be cut while originals are preserved",
        Severity.ERROR,
        "the run of each common with the length of a matrix row",
        _bus_would_be_cut,
        locked=True,
        why="A bus that was cut and joined again is not the bus as it was, and a joint in it is the next fault.",
        remedy="read the group by the chain, which needs no bus to be split",
    ),
    Rule(
        "usb-without-barrier",
        "USB without an isolation barrier while originals are preserved",
        Severity.ERROR,
        "the MIDI output and the stated barrier",
        _usb_without_barrier,
        locked=True,
        why=(
            "A USB lead joins the computer's earth to the organ's return: hum at best, a fault current through "
            "the keying wires at worst."
        ),
        remedy="put a rated isolator into the lead, or send MIDI by DIN, whose input is isolated",
    ),
    Rule(
        "audio-contact-sensed",
        "Contacts that carry audio would be sensed with direct voltage",
        Severity.ERROR,
        "what the contacts carry with the way of sensing",
        _audio_contacts,
        locked=True,
        why=(
            "Direct voltage on a contact that carries sound thumps with every key and shifts the level of what it"
            " mixes with."
        ),
        remedy="sense a spare leaf or a movement; leave the contacts that carry sound alone",
    ),
    Rule(
        "bus-must-be-split",
        "A bus must be split before a matrix can be wired",
        Severity.WARNING,
        "the run of each common with the length of a matrix row",
        _bus_must_be_split,
        why="A matrix tells its contacts apart by row, so that one row cannot run on into the next.",
        remedy="split the bus while it is out of use anyway, or read the group by the chain and leave it whole",
    ),
    Rule(
        "service-lead-joins-earth",
        "A service lead would bridge the isolation",
        Severity.NOTE,
        "the MIDI output of a job that preserves originals",
        _service_lead,
        why=(
            "The barrier is only as good as the worst lead that is ever plugged in, and a lead for service is "
            "plugged in on a hurried day."
        ),
        remedy="keep an isolator with the service lead, or unplug MIDI and use a laptop on its battery",
    ),
)
