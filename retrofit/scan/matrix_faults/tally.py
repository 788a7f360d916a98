"""A running count of the diodes that a set of chords locates, kept up to date while single chords are replaced."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from retrofit.scan.matrix_faults.chords import Chord
from retrofit.scan.matrix_faults.crossings import KeyMatrix
from retrofit.scan.matrix_faults.ghosts import ghost_masks


class Tally:
    """A set of chords with the signature of every diode as one number, and how many diodes share each signature."""

    def __init__(self, matrix: KeyMatrix, chords: Sequence[Chord]) -> None:
        self._matrix = matrix
        self._bits = matrix.rows * matrix.columns
        self._masks: list[dict[int, int]] = [{} for _ in chords]
        self._signature = dict.fromkeys(matrix.keys, 0)
        self._shared = Counter({0: len(matrix.keys)})
        self.chords = list(chords)
        self.located = 0
        for place, chord in enumerate(chords):
            self.put(place, chord)

    def put(self, place: int, chord: Chord) -> None:
        """Replace one chord."""
        before, after = self._masks[place], ghost_masks(self._matrix, chord.keys)
        self.chords[place], self._masks[place] = chord, after
        for key in sorted(before.keys() | after.keys()):
            change = before.get(key, 0) ^ after.get(key, 0)
            if change:
                self._sign(key, self._signature[key] ^ change << place * self._bits)

    def not_located(self) -> list[int]:
        """Return the keys whose signature is empty or shared."""
        return [key for key, signature in self._signature.items() if not self._tells(signature)]

    def _tells(self, signature: int) -> bool:
        return signature != 0 and self._shared[signature] == 1

    def _sign(self, key: int, signature: int) -> None:
        old, self._signature[key] = self._signature[key], signature
        for changed, step in ((old, -1), (signature, 1)):
            told = self._tells(changed)
            self._shared[changed] += step
            self.located += self._tells(changed) - told
        if not self._shared[old]:
            del self._shared[old]
