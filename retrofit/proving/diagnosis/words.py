"""Causes in the user's own names: what is wrong, and where to look first."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from retrofit.proving.diagnosis.causes import Cause, Kind
from retrofit.proving.diagnosis.rig import Pin, Rig, Role


def cause_words(rig: Rig, cause: Cause) -> str:
    """Return a cause as a sentence's part, as in `connector J3 (chain register 2) is plugged in turned round`."""
    return _SAID[cause.kind](rig, *cause.parts)


def first_look(rig: Rig, cause: Cause) -> str:
    """Return where to look first."""
    return _LOOK[cause.kind].format(*(part_words(rig, part) for part in cause.parts))


def part_words(rig: Rig, part: Any) -> str:
    """Return a part of the console as the user calls it: a contact by its words, a connector with what it leads to."""
    if isinstance(part, Pin):
        return _wire(rig, part)
    if part in rig.contacts:
        return rig.contacts[part].words
    if part in rig.connector_words:
        return f"connector {part} ({rig.connector_words[part]})"
    return str(part)


def _wire(rig: Rig, pin: Pin) -> str:
    lead = rig.leads.get(pin)
    if lead is not None and lead.role in (Role.COLUMN, Role.ROW):
        return f"wire {pin} (matrix {lead.matrix} {lead.role.value} {lead.number})"
    points = [contact.words for contact in rig.contacts.values() if contact.line == pin]
    return f"wire {pin} ({points[0]})" if points else f"wire {pin}"


Say = Callable[..., str]


def _say(form: str) -> Say:
    return lambda rig, *parts: form.format(*(part_words(rig, part) for part in parts))


def _level(form: str) -> Say:
    """Say something of a part that reads a level, low or high."""
    return lambda rig, part, level: form.format(part_words(rig, part), "high" if level else "low")


def _register(rig: Rig, lane: int, level: bool) -> str:
    return f"chain register {rig.lanes[lane].order} reads constantly {'high' if level else 'low'}"


def _step(rig: Rig, point: str, step: int) -> str:
    way = "further than planned" if step > 0 else "short of what is planned"
    return f"from {part_words(rig, point)} on every wire lies one terminal {way}"


def _slip(_rig: Rig, register: int, step: int) -> str:
    return f"from register {register} on the chain is {'a clock ahead' if step > 0 else 'a clock behind'}"


def _off_one(rig: Rig, connector: str, step: int) -> str:
    return f"{part_words(rig, connector)} sits one pin too {'high' if step > 0 else 'low'}"


def _shift(_rig: Rig, group: str, semitones: int) -> str:
    return f"{group} sounds {abs(semitones)} semitones too {'high' if semitones > 0 else 'low'}"


_SAID: dict[Kind, Say] = {
    Kind.DEAD: _say("{} is dead"),
    Kind.LINE_DEAD: _say("{} is dead"),
    Kind.BUS_DEAD: _say("the whole bus of {} is dead"),
    Kind.REGISTER_DEAD: _register,
    Kind.EXPANDER_DEAD: _say("{} does not answer"),
    Kind.CHAIN_DEAD: _level("from register {} on the chain reads constantly {}"),
    Kind.SLIPPED: _slip,
    Kind.STEPPED: _step,
    Kind.TURNED: _say("{} is plugged in turned round"),
    Kind.OFF_ONE: _off_one,
    Kind.EXCHANGED: _say("{} and {} are plugged in each other's place"),
    Kind.CROSSED: _say("{} and {} are crossed"),
    Kind.MIRRORED: _say("the wires of {} lie in the opposite order"),
    Kind.JOINED: _say("{} and {} touch"),
    Kind.GROUNDED: _say("{} touches the return"),
    Kind.INPUT_STUCK: _level("the input at {} is always {}"),
    Kind.BENT: _say("the key of {} moves the contact of {} too"),
    Kind.HELD: _say("{} is stuck"),
    Kind.DIODE_SHORTED: _say("the diode of {} conducts both ways"),
    Kind.DIODE_REVERSED: _say("the diode of {} is in backwards"),
    Kind.DIODES_MISSING: _say("{} has no diodes that block"),
    Kind.DIODES_REVERSED: _say("all diodes of {} are in backwards"),
    Kind.INVERTED: _say("the polarity of {} is inverted"),
    Kind.CHANNEL: _say("{} sends on channel {}"),
    Kind.SHIFTED: _shift,
    Kind.COUPLED: _say("keys of {} sound {} as well"),
    Kind.DOUBLED: _say("{} sounds on channel {} as well"),
    Kind.BLEED: lambda _rig, bank, bit: f"on multiplexer {8 * (int(bank) - 1) + bit + 1} an input shows at the next",
    Kind.CHATTER: _say("{} chatters"),
    Kind.LATE: _say("{} lets go late"),
    Kind.HUM: _say("{} is broken up at the rhythm of the mains"),
    Kind.FLICKER: _say("{} comes and goes as one"),
}

_LOOK: dict[Kind, str] = {
    Kind.DEAD: "contact, spring, joint, its own wire; in a matrix its diode, open or backwards",
    Kind.LINE_DEAD: "that wire at both ends, then the input or the row's driver",
    Kind.BUS_DEAD: "the return or feed of {}",
    Kind.REGISTER_DEAD: "the register's supply, load line and socket",
    Kind.EXPANDER_DEAD: "its supply, its address, both wires of the bus",
    Kind.CHAIN_DEAD: "the data joint before that register, and the supply there",
    Kind.SLIPPED: "the clock wire at that register: a missing or an extra edge",
    Kind.STEPPED: "the terminal there: one skipped, or one wire left off",
    Kind.TURNED: "pin 1 of the plug",
    Kind.OFF_ONE: "the plug on its header",
    Kind.EXCHANGED: "the marks on both plugs",
    Kind.CROSSED: "both ends of both wires",
    Kind.MIRRORED: "from which side the drawing was read",
    Kind.JOINED: "solder bridge, stray strand, bent leaf",
    Kind.GROUNDED: "pinched insulation, stray strand at the return",
    Kind.INPUT_STUCK: "the input with its wire taken off",
    Kind.BENT: "the leaf: does it touch only when the key is pressed hard?",
    Kind.HELD: "leaf bent or welded, stop left drawn, opening and closing contact mistaken",
    Kind.DIODE_SHORTED: "that diode, and a wire bridging it",
    Kind.DIODE_REVERSED: "the ring on that diode",
    Kind.DIODES_MISSING: "whether diodes are fitted at all",
    Kind.DIODES_REVERSED: "the rings on the diodes; the plugs of rows and columns",
    Kind.INVERTED: "the setting, and whether the organ keys negative",
    Kind.CHANNEL: "the channel of {} in the board",
    Kind.SHIFTED: "the lowest note of {} in the board",
    Kind.COUPLED: "a coupler drawn; else the tap lies behind the coupler",
    Kind.DOUBLED: "a coupler drawn; else the tap lies behind the coupler",
    Kind.BLEED: "the wait between selecting and reading",
    Kind.CHATTER: "dirt on the contact, a weak spring",
    Kind.LATE: "a decay capacitor before the tap",
    Kind.HUM: "a supply without smoothing, a missing return",
    Kind.FLICKER: "the return or supply joint of its board",
}
