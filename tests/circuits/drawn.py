"""Reading a drawing of a circuit back: which part joins which two nodes, found by following the wires."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

RIGHT, LEFT, UP, DOWN = (0, 1), (0, -1), (-1, 0), (1, 0)
_ARMS = {
    "─": (LEFT, RIGHT),
    "┬": (LEFT, RIGHT, DOWN),
    "├": (UP, DOWN, RIGHT),
    "┤": (UP, DOWN, LEFT),
    "└": (UP, RIGHT),
    "┘": (UP, LEFT),
}
Place = tuple[int, int]


def netlist(lines: Sequence[str]) -> set[tuple[str, frozenset[str]]]:
    """Return each part with the two nodes that it joins, left before right where it has a direction.

    A node is called by the names that stand at its wires, or by its place where none does.
    """
    return {(part, frozenset((left, right))) for part, left, right in parts(lines)}


def parts(lines: Sequence[str]) -> Iterator[tuple[str, str, str]]:
    """Yield each part with the node on its left and the node on its right."""
    names = dict(_names(lines))
    for row, line in enumerate(lines):
        for found in re.finditer(r"\[([^\]]*)\]", line):
            yield found[1], _node(lines, names, (row, found.start() - 1)), _node(lines, names, (row, found.end()))


def _names(lines: Sequence[str]) -> Iterator[tuple[Place, str]]:
    """Yield each name with the wire's end beside it."""
    for row, line in enumerate(lines):
        bare = re.sub(r"\[[^\]]*\]", lambda part: "#" * len(part[0]), line)
        for found in re.finditer(r"[^─┬├┤└┘#]*[^─┬├┤└┘# ][^─┬├┤└┘#]*", bare):
            for end in (found.start() - 1, found.end()):
                if 0 <= end < len(line) and line[end] in _ARMS:
                    yield (row, end), found[0].strip()


def _node(lines: Sequence[str], names: dict[Place, str], start: Place) -> str:
    """Return the name of the node whose wire begins at a place; fail where a wire leads nowhere."""
    seen, waiting = set(), [start]
    while waiting:
        place = waiting.pop()
        if place in seen:
            continue
        seen.add(place)
        waiting += list(_joined(lines, names, place))
    called = {names[place] for place in seen if place in names}
    return " = ".join(sorted(called)) or f"node at {min(seen)}"


def _joined(lines: Sequence[str], names: dict[Place, str], place: Place) -> Iterator[Place]:
    row, column = place
    for down, right in _ARMS[lines[row][column]]:
        there = (row + down, column + right)
        beside = lines[there[0]][there[1]] if 0 <= there[0] < len(lines) and there[1] < len(lines[there[0]]) else " "
        if beside in _ARMS:
            assert (-down, -right) in _ARMS[beside], f"a wire at {place} meets {beside!r} from the wrong side"
            yield there
        else:
            assert beside in "[]" or place in names, f"the wire at {place} leads nowhere"
