"""The causes that a diagnosis knows: what each does to a console's net, and what it costs to suppose it.

The cost is the price of naming the cause, in the same unit as the costs of what is left unexplained: about how many
nats rarer it is than a sound console.  Common practice, no source: single contacts and wires fail more often than whole
plugs are put on wrongly, and those more often than two things at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import Any

from retrofit.plan.connectors import WAYS
from retrofit.proving.diagnosis.net import RETURN, Diode, Net
from retrofit.proving.diagnosis.rig import Pin, Rig, Role


class Kind(StrEnum):
    """A kind of cause."""

    DEAD = "dead contact"
    LINE_DEAD = "dead row or column"
    BUS_DEAD = "dead bus"
    REGISTER_DEAD = "register constant"
    EXPANDER_DEAD = "expander silent"
    CHAIN_DEAD = "chain constant from a register on"
    SLIPPED = "chain slipped from a place on"
    STEPPED = "shifted from a contact on"
    TURNED = "reversed connector"
    OFF_ONE = "plug one pin off"
    EXCHANGED = "exchanged connectors"
    CROSSED = "crossed wires"
    MIRRORED = "mirrored whole"
    JOINED = "shorted neighbours"
    GROUNDED = "line shorted to the return"
    INPUT_STUCK = "dead input"
    BENT = "bent contact"
    HELD = "stuck"
    DIODE_SHORTED = "shorted diode"
    DIODE_REVERSED = "reversed diode"
    DIODES_MISSING = "missing diodes"
    DIODES_REVERSED = "reversed diodes"
    INVERTED = "inverted polarity"
    CHANNEL = "wrong channel"
    SHIFTED = "shifted notes"
    COUPLED = "tap after coupler"
    DOUBLED = "doubled on a second channel"
    BLEED = "bleed"
    CHATTER = "chatter"
    LATE = "late release"
    HUM = "hum"
    FLICKER = "loose joint"


@dataclass(frozen=True, slots=True)
class Cause:
    """A supposed cause: its kind, and the parts of the console that it concerns."""

    kind: Kind
    parts: tuple[Any, ...]

    @classmethod
    def of(cls, kind: Kind, *parts: Any) -> Cause:
        """Return a cause of a kind that concerns these parts."""
        return cls(kind, parts)

    @property
    def cost(self) -> float:
        """What supposing it costs."""
        return COSTS.get(self.kind, 10.0)


COSTS = {
    Kind.DEAD: 10.0,
    Kind.HELD: 10.0,
    Kind.LINE_DEAD: 10.5,
    Kind.REGISTER_DEAD: 11.0,
    Kind.CHAIN_DEAD: 11.5,
    Kind.BUS_DEAD: 11.0,
    Kind.CROSSED: 11.0,
    Kind.JOINED: 10.5,
    Kind.BENT: 11.5,
    Kind.GROUNDED: 10.8,
    Kind.INPUT_STUCK: 12.0,
    Kind.EXPANDER_DEAD: 11.2,
    Kind.STEPPED: 12.5,
    Kind.SLIPPED: 12.0,
    Kind.BLEED: 13.0,
    Kind.MIRRORED: 12.0,
    Kind.DIODE_REVERSED: 11.0,
    Kind.DIODES_MISSING: 12.0,
    Kind.DIODES_REVERSED: 12.0,
}
PERMUTATIONS = frozenset(
    {Kind.SLIPPED, Kind.STEPPED, Kind.TURNED, Kind.OFF_ONE, Kind.EXCHANGED, Kind.CROSSED, Kind.MIRRORED}
)
"""Kinds that leave every contact its own place, so that the table may be corrected instead of the wiring."""


def supposed(rig: Rig, causes: tuple[Cause, ...]) -> Net:
    """Return the net of a console in which all these causes hold."""
    net = Net(rig)
    for cause in causes:
        deed = DEEDS.get(cause.kind)
        if deed is not None:
            deed(net, *cause.parts)
    return net


def _cut(net: Net, wire: Pin) -> None:
    net.plugged[wire] = None


def _stop_register(net: Net, lane: int, level: bool) -> None:
    keyed = level == net.rig.lanes[lane].keyed_high
    net.read |= {lane * 8 + bit: keyed for bit in range(8)}


def _stop_chain(net: Net, register: int, level: bool) -> None:
    for lane in net.rig.lanes.values():
        if lane.order is not None and lane.order >= register:
            _stop_register(net, lane.index, level)


def chain_places(rig: Rig) -> list[int]:
    """Return the places of the chain in the order in which they are shifted in: bit 7 of a register comes first."""
    lanes = sorted((lane for lane in rig.lanes.values() if lane.order is not None), key=lambda lane: lane.order or 0)
    return [lane.index * 8 + bit for lane in lanes for bit in range(7, -1, -1)]


def _slip(net: Net, register: int, step: int) -> None:
    """Show at every place from a register on what lies `step` places further out; beyond the last all is high."""
    places = chain_places(net.rig)
    before = dict(net.read)
    first = next(i for i, place in enumerate(places) if net.rig.lanes[place >> 3].order == register)
    for i in range(first, len(places)):
        place = places[i]
        beyond = i + step >= len(places)
        source = None if beyond else places[i + step]
        net.read[place] = net.rig.lanes[place >> 3].keyed_high if source is None else before.get(source, source)


def _step(net: Net, point: str, step: int) -> None:
    """Lead the wires from a contact on one terminal further, or leave the first off and lead the rest one back."""
    contacts = net.rig.group(net.rig.contacts[point].group)
    lines = [contact.line for contact in contacts]
    first = next(i for i, contact in enumerate(contacts) if contact.point == point)
    further = [*lines[first + 1 :], _free_pin_after(net.rig, lines[-1])]
    net.plugged |= zip(lines[first:], further if step > 0 else [None, *lines[first:-1]], strict=True)


def _free_pin_after(rig: Rig, line: Pin) -> Pin | None:
    """Return the next input of the same plug when no contact is planned there."""
    pin = Pin(line.connector, line.number + 1)
    lead = rig.leads.get(pin)
    if lead is None or lead.role is not Role.INPUT or any(contact.line == pin for contact in rig.contacts.values()):
        return None
    return pin


def _mates(net: Net, connector: str) -> dict[int, Pin | None]:
    return {n: net.mated.get(Pin(connector, n), Pin(connector, n)) for n in range(1, WAYS + 1)}


def _turn(net: Net, connector: str) -> None:
    """Turn a plug round where it sits: what met a pin of a header meets the one as far from the other end."""
    for n, met in _mates(net, connector).items():
        net.mated[Pin(connector, n)] = None if met is None else Pin(met.connector, WAYS + 1 - met.number)


def _off_one(net: Net, connector: str, step: int) -> None:
    mates = _mates(net, connector)
    net.mated |= {Pin(connector, n): mates.get(n + step) for n in mates}


def _exchange(net: Net, one: str, other: str) -> None:
    first, second = _mates(net, one), _mates(net, other)
    net.mated |= {Pin(one, n): second[n] for n in second}
    net.mated |= {Pin(other, n): first[n] for n in first}


def _cross(net: Net, one: Pin, other: Pin) -> None:
    ends = net.plugged.get(one, one), net.plugged.get(other, other)
    net.plugged[one], net.plugged[other] = ends[1], ends[0]


def group_connectors(rig: Rig, group: str) -> list[str]:
    """Return the connectors of a group's lines, in the order of its contacts; of a matrix with its rows' as well."""
    found: dict[str, None] = {}
    for contact in rig.group(group):
        found[contact.line.connector] = None
        if isinstance(contact.bus, Pin):
            found[contact.bus.connector] = None
    return list(found)


def _mirror(net: Net, group: str) -> None:
    lines = [contact.line for contact in net.rig.group(group)]
    net.plugged |= zip(lines, reversed(lines), strict=True)


def _ground(net: Net, wire: Pin) -> None:
    net.joined.append((wire, RETURN))


def _stick(net: Net, pin: Pin, level: bool) -> None:
    """Let an input, or a column in each of its rows, read one level."""
    for place in places_of(net.rig, pin):
        net.read[place] = level == net.rig.lanes[place >> 3].keyed_high


def places_of(rig: Rig, pin: Pin) -> list[int]:
    """Return the places that are read at a pin of a header: one of an input, one for each row of a column."""
    lead = rig.leads.get(pin)
    if lead is None or lead.role not in (Role.INPUT, Role.COLUMN):
        return []
    if lead.role is Role.INPUT:
        return [lead.number]
    return [lane * 8 + lead.number for (matrix, _), lane in rig.row_lanes.items() if matrix == lead.matrix]


def _silence_expander(net: Net, where: str) -> None:
    lanes = [lane.index for lane in net.rig.lanes.values() if lane.where == where]
    net.read |= {lane * 8 + bit: False for lane in lanes for bit in range(8)}


def _cut_group(net: Net, group: str) -> None:
    net.cut_buses |= {c.bus for c in net.rig.group(group) if isinstance(c.bus, str)}


def _bleed(net: Net, bank: str, bit: int) -> None:
    """Let what is on at an input of a multiplexer show at the one that is read after it."""
    lanes = sorted((lane for lane in net.rig.lanes.values() if lane.bank == bank), key=lambda lane: lane.input)
    net.with_ |= {b.index * 8 + bit: a.index * 8 + bit for a, b in pairwise(lanes)}


def _diodes(state: Diode) -> Callable[..., None]:
    def deed(net: Net, group: str) -> None:
        net.diodes |= {contact.point: state for contact in net.rig.group(group)}

    return deed


def _set(name: str) -> Callable[..., None]:
    def deed(net: Net, key: Any, value: Any) -> None:
        getattr(net, name)[key] = value

    return deed


def _add(name: str) -> Callable[..., None]:
    def deed(net: Net, key: Any) -> None:
        getattr(net, name).add(key)

    return deed


def _pair(name: str) -> Callable[..., None]:
    def deed(net: Net, one: Any, other: Any) -> None:
        getattr(net, name).append((one, other))

    return deed


def _diode(state: Diode) -> Callable[..., None]:
    def deed(net: Net, point: str) -> None:
        net.diodes[point] = state

    return deed


DEEDS: dict[Kind, Callable[..., None]] = {
    Kind.DEAD: _add("dead"),
    Kind.LINE_DEAD: _cut,
    Kind.BUS_DEAD: _cut_group,
    Kind.REGISTER_DEAD: _stop_register,
    Kind.CHAIN_DEAD: _stop_chain,
    Kind.SLIPPED: _slip,
    Kind.STEPPED: _step,
    Kind.TURNED: _turn,
    Kind.OFF_ONE: _off_one,
    Kind.EXCHANGED: _exchange,
    Kind.CROSSED: _cross,
    Kind.MIRRORED: _mirror,
    Kind.JOINED: _pair("joined"),
    Kind.HELD: _add("held"),
    Kind.DIODE_SHORTED: _diode(Diode.SHORTED),
    Kind.DIODE_REVERSED: _diode(Diode.REVERSED),
    Kind.DIODES_MISSING: _diodes(Diode.SHORTED),
    Kind.DIODES_REVERSED: _diodes(Diode.REVERSED),
    Kind.GROUNDED: _ground,
    Kind.INPUT_STUCK: _stick,
    Kind.EXPANDER_DEAD: _silence_expander,
    Kind.BENT: _pair("bent"),
    Kind.INVERTED: _add("inverted"),
    Kind.CHANNEL: _set("channels"),
    Kind.SHIFTED: _set("semitones"),
    Kind.COUPLED: _pair("coupled"),
    Kind.DOUBLED: _set("doubled"),
    Kind.BLEED: _bleed,
}
"""What each kind does to a net; the kinds that are missing change how a contact sounds, not which."""
