"""A search for the fewest chords under two hands that locate every diode: repeatable, bounded, with a way to stop it.

Chords are changed one hand or one finger at a time; a change that locates fewer diodes is kept now and then, ever more
rarely (simulated annealing: Kirkpatrick, Gelatt and Vecchi, Science 220, 1983).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, exp
from random import Random

from retrofit.scan.matrix_faults.chords import Chord, located_keys, without_needless
from retrofit.scan.matrix_faults.crossings import KeyMatrix
from retrofit.scan.matrix_faults.hand_places import HandPlaces, hand_places
from retrofit.scan.matrix_faults.tally import Tally

DIODES_A_CHORD = 8
"""What a chord of ten keys is first asked to locate."""
FRESH_STARTS = 3
MOST_EXTRA_CHORDS = 3
MOVES = 20_000
"""Changes tried in one attempt."""
MOVES_BETWEEN_REPORTS = 500
_HOT, _COLD = 0.3, 0.1
"""Loss of located diodes that is accepted with a chance of 1/e at the beginning and at the end of an attempt."""
_WANTED_NOTE_SHARE, _NEW_HAND_SHARE = 0.15, 0.35
"""Shares of the changes that put a hand on a note still to be located, and anywhere; the others move a finger."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the search has come: chords in use, diodes located, and how many there are to locate."""

    chords: int
    located: int
    wanted: int


Watch = Callable[[Progress], bool]
"""Told of progress now and then; the search ends with the best that it has when the answer is False."""


def hand_chords(
    matrix: KeyMatrix, reachable: frozenset[int], *, seed: int = 0, watch: Watch | None = None
) -> tuple[Chord, ...]:
    """Return chords for two hands that locate as many of the `reachable` diodes as the search finds, all if it can.

    Same matrix and seed, same chords.  Empty where the keyboard does not offer two hands their keys.
    """
    places = hand_places(sorted(matrix.keys))
    if not reachable or not places.fit:
        return ()
    random = Random(seed)  # noqa: S311  # repeatable, and nothing that is secret
    search = _Search(matrix, places, random, watch or (lambda _: True), len(reachable))
    return without_needless(matrix, search.best())


class _Search:
    """One search over one keyboard."""

    def __init__(self, matrix: KeyMatrix, places: HandPlaces, random: Random, watch: Watch, wanted: int) -> None:
        self._matrix, self._places, self._random, self._watch = matrix, places, random, watch
        self._wanted = wanted
        self._stopped = False

    def best(self) -> tuple[Chord, ...]:
        """Return the best chords of several attempts: the fewest from scratch, then the best so far with one more."""
        best: tuple[Chord, ...] = ()
        reached, fewest = 0, ceil(self._wanted / DIODES_A_CHORD)
        for count in (*[fewest] * FRESH_STARTS, *range(fewest + 1, fewest + MOST_EXTRA_CHORDS + 1)):
            found = self._improved(best if count > fewest else (), count)
            located = len(located_keys(self._matrix, found))
            if located > reached:
                best, reached = found, located
            if self._stopped or reached == self._wanted:
                break
        self._watch(Progress(len(best), reached, self._wanted))
        return best

    def _improved(self, known: Sequence[Chord], count: int) -> tuple[Chord, ...]:
        """Return the best `count` chords found, beginning from those known and as many new ones as are missing."""
        fresh = (self._places.anywhere(self._random) for _ in range(count - len(known)))
        tally = Tally(self._matrix, [*known, *fresh])
        best, located = tuple(tally.chords), tally.located
        for move in range(MOVES):
            if located == self._wanted or (move % MOVES_BETWEEN_REPORTS == 0 and self._is_told_to_stop(count, located)):
                break
            self._move(tally, _HOT * (_COLD / _HOT) ** (move / MOVES))
            if tally.located > located:
                best, located = tuple(tally.chords), tally.located
        return best

    def _is_told_to_stop(self, chords: int, located: int) -> bool:
        self._stopped = not self._watch(Progress(chords, located, self._wanted))
        return self._stopped

    def _move(self, tally: Tally, warmth: float) -> None:
        """Change one chord; undo it where it locates fewer, unless chance allows the loss."""
        place, located = self._random.randrange(len(tally.chords)), tally.located
        before = tally.chords[place]
        after = self._changed(before, tally)
        if after is None:
            return
        tally.put(place, after)
        if tally.located < located and self._random.random() >= exp((tally.located - located) / warmth):
            tally.put(place, before)

    def _changed(self, chord: Chord, tally: Tally) -> Chord | None:
        drawn = self._random.random()
        if drawn < _WANTED_NOTE_SHARE:
            return self._places.hand_on(self._random.choice(tally.not_located()), chord, self._random)
        if drawn < _WANTED_NOTE_SHARE + _NEW_HAND_SHARE:
            return self._places.new_hand(chord, self._random)
        return self._places.finger_moved(chord, self._random)
