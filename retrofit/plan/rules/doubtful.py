"""Rules about figures that no console has: most likely a slip of the pen or of the meter's range."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.scan.addresses import ChainAddress
from retrofit.survey.bench import Reading, ReadingState
from retrofit.survey.contacts import Condition
from retrofit.survey.problems import shown

LONGEST_CABLE_M = 100.0
LARGEST_CONTACT_OHMS = 100e3
UNUSED_REGISTERS = 8
"""What a console stays within by far; common practice, no source."""

_NOT_SOUND = frozenset({Condition.DEAD, Condition.NOT_FITTED, Condition.LEFT_OUT})


def _cable(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        length = group.wiring.cable_length
        if length.value is not None and length.value > LONGEST_CABLE_M:
            yield Said(
                f"groups.{group.id}.wiring.cable_length",
                f"the cable is {shown(length.raw)}, that is {length.value:g} m, long",
                f"at most {LONGEST_CABLE_M:g} m in a console",
                "write the unit (250 cm, 2.5 m), or put a board of its own beside these contacts",
            )


def _contact(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        resistance = group.wiring.contact_resistance
        if _is_no_contact(resistance) and _has_sound_contacts(facts, group.id):
            yield Said(
                f"groups.{group.id}.wiring.contact_resistance",
                f"a closed contact reads {shown(resistance.raw)} (Ω)",
                f"at most {LARGEST_CONTACT_OHMS / 1e3:g} kΩ of a contact that is called sound",
                "read it again with the key held down and the power off, or mark the contacts as dead",
            )


def _is_no_contact(resistance: Reading) -> bool:
    too_large = resistance.value is not None and resistance.value > LARGEST_CONTACT_OHMS
    return too_large or resistance.state is ReadingState.OPEN


def _has_sound_contacts(facts: Facts, group: str) -> bool:
    return any(p.point.group == group and p.point.found.condition not in _NOT_SOUND for p in facts.points)


def _bounce(facts: Facts) -> Iterator[Said]:
    for group in facts.job.groups:
        if group.wiring.bounce.value == 0:
            yield Said(
                f"groups.{group.id}.wiring.bounce",
                f"the bounce is {shown(group.wiring.bounce.raw)}, and no contact of metal has none",
                "the worst of about 20 strokes, more than 0",
                'measure it again with a shorter time base, or write bounce = "unknown"',
            )


def _register_gap(facts: Facts) -> Iterator[Said]:
    first_on = {
        address.register: point
        for point, address in sorted(facts.layout.addresses.items(), reverse=True)
        if isinstance(address, ChainAddress) and point in facts.job.addresses
    }
    used = sorted({a.register for a in facts.layout.addresses.values() if isinstance(a, ChainAddress)})
    for before, register in pairwise((-1, *used)):
        unused = register - before - 1
        if unused > UNUSED_REGISTERS and register in first_on:
            yield Said(
                f"addresses.{first_on[register]}",
                f"{first_on[register]} is recorded on chain register {register}, which leaves {unused} registers "
                "unused before it",
                f"at most {UNUSED_REGISTERS} unused registers in a row; each is fitted, shifted and waited for",
                "compare with the wiring as it is, and correct the register's number",
            )


RULES = (
    Rule(
        "cable-length-doubtful",
        "A cable is longer than any console",
        Severity.WARNING,
        "cable length with 100 m",
        _cable,
        why="A length mistyped by a factor of a hundred slows the whole scan, or hides what is wrong with it.",
        remedy="write the length with its unit, or put a board of its own beside the contacts",
    ),
    Rule(
        "contact-resistance-doubtful",
        "A closed contact reads as open",
        Severity.WARNING,
        "contact resistance of contacts that are not called dead with 100 kΩ",
        _contact,
        why="A contact that reads open while it is closed never plays; one of the two words about it is wrong.",
        remedy="read it again with the key held down and the power off, or mark the contacts as dead",
    ),
    Rule(
        "bounce-is-zero",
        "A bounce of nothing was written",
        Severity.WARNING,
        "measured bounce with 0",
        _bounce,
        why="Debounce is made as long as the bounce; with none every stroke may sound twice.",
        remedy="measure it again with a shorter time base, or say that it is unknown",
    ),
    Rule(
        "register-gap",
        "A recorded register leaves many unused before it",
        Severity.WARNING,
        "registers in use with those before them",
        _register_gap,
        why="A register's number with one digit too many has a chain built, paid for and shifted that nothing needs.",
        remedy="compare with the wiring as it is, and correct the register's number",
    ),
)
