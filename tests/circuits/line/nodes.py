"""A small solver of resistive networks by nodal analysis, independent of the formulas under test.

Kirchhoff's current law at every node gives G·v = i; a source stands behind its own resistance (Norton's theorem).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

RETURN = "return"
LEAK_SIEMENS = 1e-12
"""From each node to return, so that a node without any path still has volts."""


@dataclass(frozen=True, slots=True)
class Resistor:
    """A resistor between two nodes; `when` is the only state in which it is there, or None for both."""

    a: str
    b: str
    ohms: float
    when: str | None = None


@dataclass(frozen=True, slots=True)
class Feed:
    """DC and AC volts at a node against return, behind a resistance."""

    node: str
    dc: float
    ac: float = 0.0
    ohms: float = 0.2


Part = Resistor | Feed


def node_volts(parts: Sequence[Part], node: str, *, ac: bool = False) -> float:
    """Return the volts at a node, DC or AC (all AC sources in step)."""
    names, matrix, amps = _system(parts, ac=ac, with_feeds=True)
    return float(np.linalg.solve(matrix, amps)[names.index(node)]) if node in names else 0.0


def ohms_between(parts: Sequence[Part], a: str, b: str) -> float:
    """Return the resistance between two nodes with the power off, the supplies taken away."""
    names, matrix, _ = _system([*parts, Resistor(a, b, 1e15)], ac=False, with_feeds=False)
    amps = np.zeros(len(names))
    for node, current in ((a, 1.0), (b, -1.0)):
        if node != RETURN:
            amps[names.index(node)] += current
    volts = dict(zip(names, np.linalg.solve(matrix, amps), strict=True)) | {RETURN: 0.0}
    return float(volts[a] - volts[b])


def _system(parts: Sequence[Part], *, ac: bool, with_feeds: bool) -> tuple[list[str], np.ndarray, np.ndarray]:
    nodes = {n for p in parts for n in ((p.a, p.b) if isinstance(p, Resistor) else (p.node,))}
    names = sorted(nodes - {RETURN})
    matrix, amps = np.eye(len(names)) * LEAK_SIEMENS, np.zeros(len(names))
    for part in parts:
        ends = (part.a, part.b) if isinstance(part, Resistor) else (part.node, RETURN)
        if isinstance(part, Feed) and not with_feeds:
            continue
        inside = [names.index(end) for end in ends if end != RETURN]
        for row in inside:
            for column in inside:
                matrix[row, column] += (1 if row == column else -1) / part.ohms
        if isinstance(part, Feed):
            amps[names.index(part.node)] += (part.ac if ac else part.dc) / part.ohms
    return names, matrix, amps
