"""Chords, and which faulty diodes a set of them finds and tells apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from retrofit.scan.matrix_faults.crossings import KeyMatrix
from retrofit.scan.matrix_faults.ghosts import ghost_masks


@dataclass(frozen=True, slots=True)
class Chord:
    """Keys held together, rising.  The lowest `left_keys` are the left hand's; None where no hand is meant."""

    keys: tuple[int, ...]
    left_keys: int | None = None

    @property
    def left(self) -> tuple[int, ...]:
        """The keys of the left hand."""
        return self.keys[: self.left_keys or 0]

    @property
    def right(self) -> tuple[int, ...]:
        """The keys of the right hand."""
        return self.keys[self.left_keys or 0 :]


def signatures(matrix: KeyMatrix, chords: Sequence[Chord]) -> dict[int, tuple[int, ...]]:
    """Return for each key what its faulty diode adds to every chord in turn, a mask of ghosts each."""
    masks = [ghost_masks(matrix, chord.keys) for chord in chords]
    return {key: tuple(mask.get(key, 0) for mask in masks) for key in matrix.keys}


def located_keys(matrix: KeyMatrix, chords: Sequence[Chord]) -> frozenset[int]:
    """Return the keys whose faulty diode makes ghosts that no other diode makes, over all the chords together."""
    found = signatures(matrix, chords)
    shared = Counter(found.values())
    return frozenset(key for key, signature in found.items() if any(signature) and shared[signature] == 1)


def without_needless(matrix: KeyMatrix, chords: Sequence[Chord]) -> tuple[Chord, ...]:
    """Return the chords without those that locate nothing which the others do not."""
    wanted, kept = located_keys(matrix, chords), list(chords)
    for chord in chords:
        rest = [other for other in kept if other is not chord]
        if located_keys(matrix, rest) >= wanted:
            kept = rest
    return tuple(kept)
