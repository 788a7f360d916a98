"""A bench with one matrix on it: holds chords, breaks diodes one at a time, and says which crossings read low."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tests.scan.matrix_faults.nodal import Array, Console, Kind, solve

Place = tuple[int, int]
"""Row and column."""


@dataclass(frozen=True, slots=True)
class Bench:
    """A matrix of so many rows and columns with one kind of diode, on a console."""

    rows: int
    columns: int
    console: Console
    kind: Kind

    def volts(self, cases: Sequence[tuple[Sequence[Place], Place | None, str]]) -> Array:
        """Return the column voltages of every case (held places, faulty place, its fault) as cases x rows x columns.

        Every row of a case is read in turn.
        """
        shape = (len(cases), self.rows, self.rows, self.columns)
        masks: Mapping[str, Array] = {name: np.zeros(shape) for name in ("healthy", "reversed", "shorted", "open")}
        for number, (held, faulty, fault) in enumerate(cases):
            for place in held:
                masks[fault if place == faulty else "healthy"][number, :, place[0], place[1]] = 1
        driven = np.tile(np.eye(self.rows), (len(cases), 1))
        flat = {name: mask.reshape(-1, self.rows, self.columns) for name, mask in masks.items()}
        found = solve(self.console, self.kind, flat["healthy"], flat["reversed"], flat["shorted"], driven)
        return found.reshape(len(cases), self.rows, self.columns)

    def low(
        self, cases: Sequence[tuple[Sequence[Place], Place | None, str]], threshold: float
    ) -> list[frozenset[Place]]:
        """Return, for every case, the places that read below a threshold."""
        return [
            frozenset((int(row), int(column)) for row, column in zip(*np.nonzero(volts < threshold), strict=True))
            for volts in self.volts(cases)
        ]


SILICON = Kind(0.62, 0.5e-3, 1.9)
SCHOTTKY = Kind(0.32, 1e-3, 1.05)
"""Silicon: usual drop, from memory.  Schottky: BAT85, Philips 1996 Mar 20, greatest drop at 1 mA."""
FIVE_VOLTS = Console(5.0, 10e3, 25.0)
THREE_VOLTS = Console(3.3, 10e3, 25.0)
VIL_5V, VIL_3V3 = 1.5, 0.8
"""0.3 of the supply (Atmel 2549); RP2040 data sheet."""
