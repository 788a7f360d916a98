"""Faults of wires between contacts and plugs: cut, joined, grounded, exchanged, moved along, loose."""

from __future__ import annotations

from functools import partial
from itertools import pairwise
from random import Random

from retrofit.rehearsal.standin.faults.kind import FaultKind, Spoil
from retrofit.rehearsal.standin.faults.names import FaultError, Names, both
from retrofit.rehearsal.standin.wiring import RETURN, Flicker, Node, Pin, Wiring, input_pin
from retrofit.survey.problems import shown

BREAK_US, BETWEEN_BREAKS_US = 30_000, 400_000
"""Mean times of a loose joint: how long it is open, and from one break to the next; assumed."""


def _cut(pins: tuple[Pin, ...], wiring: Wiring) -> None:
    for pin in pins:
        wiring.wires[pin].outer = None


def _read_cut(names: Names, text: str) -> Spoil:
    return partial(_cut, (names.wire(text),))


def _draw_wire(names: Names, random: Random) -> str | None:
    wires = names.drawn_wires()
    return names.wire_words(random.choice(wires)) if wires else None


def _join(one: Pin, other: Pin, wiring: Wiring) -> None:
    wiring.joins.append((one.plug, other.plug))


def _read_join(names: Names, text: str) -> Spoil:
    return partial(_join, *both(text, names.pin))


def _draw_neighbours(names: Names, random: Random) -> str | None:
    """Draw two wires that lie side by side in one plug."""
    wires = sorted(names.drawn_wires())
    pairs = [(a, b) for a, b in pairwise(wires) if a.connector == b.connector and b.number == a.number + 1]
    if not pairs:
        return None
    return " and ".join(map(names.wire_words, random.choice(pairs)))


def _ground(pin: Pin, wiring: Wiring) -> None:
    wiring.joins.append((pin.plug, RETURN))


def _read_ground(names: Names, text: str) -> Spoil:
    return partial(_ground, names.pin(text))


def _swap(one: Pin, other: Pin, wiring: Wiring) -> None:
    first, second = wiring.wires[one], wiring.wires[other]
    first.outer, second.outer = second.outer, first.outer


def _read_swap(names: Names, text: str) -> Spoil:
    return partial(_swap, *both(text, names.wire))


def _draw_swap(names: Names, random: Random) -> str | None:
    """Draw two wires to exchange: of two points, of two columns or of two rows."""
    wires = names.drawn_wires()
    matrix = [pin for pin in wires if pin.connector in names.drawn_connectors(matrix=True)]
    kinds = [[pin for pin in wires if pin not in matrix]]
    kinds += [[pin for pin in matrix if pin.connector == name] for name in names.drawn_connectors(matrix=True)]
    kinds = [pins for pins in kinds if len(pins) > 1]
    return " and ".join(map(names.wire_words, random.sample(random.choice(kinds), 2))) if kinds else None


def _lead(wires: tuple[Pin, ...], ends: tuple[Node | None, ...], wiring: Wiring) -> None:
    for pin, end in zip(wires, ends, strict=True):
        wiring.wires[pin].outer = end


def _read_shift(names: Names, text: str) -> Spoil:
    head, _, way = text.rpartition(" ")
    group_words, found, point_words = head.partition(" from ")
    group = names.group(group_words)
    points = names.group_points(group)
    first = names.point(point_words) if found else points[0]
    if way not in ("up", "down") or first not in points or first not in names.pins:
        raise FaultError(
            f"{shown(text)} found, allowed is a group with a wire for each point, `from` one of them, and up or down"
        )
    moved = tuple(names.pins[point] for point in points[points.index(first) :])
    beyond = input_pin(moved[-1].connector, moved[-1].number - 1)
    terminals: list[Node | None] = [pin.plug for pin in moved]
    ends = [*terminals[1:], _free_end(names, beyond)] if way == "up" else [None, *terminals[:-1]]
    return partial(_lead, moved, tuple(ends))


def _free_end(names: Names, pin: Pin) -> Node | None:
    """Return an unused input pin of a plug; None where the plug has no more, or something is wired there."""
    last_input = input_pin(pin.connector, 7)
    return pin.plug if pin <= last_input and pin not in names.wired else None


def _groups_with_wires(names: Names) -> list[str]:
    """Return the groups of which each point has its own wire."""
    return [group for group in names.drawn_groups() if any(point in names.pins for point in names.group_points(group))]


def _draw_shift(names: Names, random: Random) -> str | None:
    groups = _groups_with_wires(names)
    if not groups:
        return None
    group = random.choice(groups)
    point = random.choice([names.group_points(group)[0], random.choice(names.group_points(group))])
    return f"{group} from {names.words(point)} {random.choice(('up', 'down'))}"


def _read_mirror(names: Names, text: str) -> Spoil:
    group = names.group(text)
    terminals = tuple(names.pins[point] for point in names.group_points(group) if point in names.pins)
    if not terminals:
        raise FaultError(f"{shown(text)} found, which is on a matrix; allowed are groups with a wire for each point")
    return partial(_lead, terminals, tuple(pin.plug for pin in reversed(terminals)))


def _draw_mirror(names: Names, random: Random) -> str | None:
    groups = _groups_with_wires(names)
    return random.choice(groups) if groups else None


def _loosen(pin: Pin, wiring: Wiring) -> None:
    wiring.flickers[pin] = Flicker(BETWEEN_BREAKS_US, BREAK_US, regular=False)


def _read_loose(names: Names, text: str) -> Spoil:
    return partial(_loosen, names.wire(text))


def _returns(names: Names, group: str) -> tuple[Pin, ...]:
    inputs = {*names.pins.values(), *(pin for crossing in names.crossings.values() for pin in crossing)}
    connectors = names.group_connectors(group)
    return tuple(sorted(pin for pin in names.wired - inputs if pin.connector in connectors))


def _read_cut_return(names: Names, text: str) -> Spoil:
    pins = _returns(names, names.group(text))
    if not pins:
        raise FaultError(f"{shown(text)} found, whose contacts have no return; allowed are groups that are no matrix")
    return partial(_cut, pins)


def _draw_cut_return(names: Names, random: Random) -> str | None:
    groups = [group for group in names.drawn_groups() if _returns(names, group)]
    return random.choice(groups) if groups else None


KINDS = (
    FaultKind("cut wire", "POINT or PIN", "a wire is cut, or its joint is dry", _read_cut, _draw_wire),
    FaultKind("cut return", "GROUP", "every return of a group's contacts is cut", _read_cut_return, _draw_cut_return),
    FaultKind("join", "POINT or PIN and POINT or PIN", "two wires touch", _read_join, _draw_neighbours),
    FaultKind("ground wire", "POINT or PIN", "a wire touches the return", _read_ground, _draw_wire),
    FaultKind("swap wires", "POINT or PIN and POINT or PIN", "two wires are exchanged", _read_swap, _draw_swap),
    FaultKind(
        "shift wires",
        "GROUP from POINT up or down",
        "up: its terminal was passed over, and each wire from there on lies one further; down: its wire was left off, "
        "and each behind it lies one earlier",
        _read_shift,
        _draw_shift,
    ),
    FaultKind(
        "mirror wires",
        "GROUP",
        "a group's wires lie in the opposite order, as from a drawing seen from the wrong side",
        _read_mirror,
        _draw_mirror,
    ),
    FaultKind("loose wire", "POINT or PIN", "the joint of a wire comes and goes", _read_loose, _draw_wire),
)
