"""A search for the fewest chords under two hands that locate every diode: repeatable, bounded, with a way to stop it.

Chords are changed one hand or one finger at a time; a change that locates fewer diodes is kept now and then, ever more
rarely (simulated annealing: Kirkpatrick, Gelatt and Vecchi, Science 220, 1983).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, exp
from random import Random

from retrofit.scan.matrix_faults.chords import Chord, without_needless
from retrofit.scan.matrix_faults.crossings import KeyMatrix
from retrofit.scan.matrix_faults.ghosts import ghost_masks
from retrofit.scan.matrix_faults.hands import FINGERS, hand_shapes, hands_hold, left_hand_holds, right_hand_holds

DIODES_A_CHORD = 8
"""What a chord of ten keys is first asked to locate."""
MOST_EXTRA_CHORDS = 3
MOVES = 20_000
"""Changes tried with one number of chords."""
MOVES_BETWEEN_REPORTS = 500
_HOT, _COLD = 0.3, 0.1
"""Loss of located diodes that is accepted with a chance of 1/e at the beginning and at the end."""
_NEW_HAND_SHARE = 0.4
_FINGER_STEPS = (-3, -2, -1, 1, 2, 3)
_Hand = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Progress:
    """How far the search has come: chords in use, diodes located, and how many there are."""

    chords: int
    located: int
    wanted: int


Watch = Callable[[Progress], bool]
"""Told of progress now and then; the search ends with the best that it has when the answer is False."""


def hand_chords(matrix: KeyMatrix, reachable: frozenset[int], *, seed: int = 0, watch: Watch | None = None) -> tuple[Chord, ...]:
    """Return chords for two hands that locate as many of the `reachable` diodes as the search finds, all if it can.

    Same matrix and seed, same chords.  Empty where the keyboard does not offer two hands their keys.
    """
    hands = _Hands.on(sorted(matrix.keys))
    if not reachable or not hands.fit:
        return ()
    search = _Search(matrix, hands, Random(seed), watch or (lambda _: True), len(reachable))  # noqa: S311  # repeatable, no secret
    fewest = ceil(len(reachable) / DIODES_A_CHORD)
    best: tuple[Chord, ...] = ()
    for count in range(fewest, fewest + MOST_EXTRA_CHORDS + 1):
        best = search.improved(best, count)
        if search.over:
            break
    return without_needless(matrix, best)


@dataclass(frozen=True, slots=True)
class _Hands:
    """Where each hand can lie on a keyboard."""

    notes: frozenset[int]
    left: tuple[_Hand, ...]
    right: tuple[_Hand, ...]

    @classmethod
    def on(cls, notes: Sequence[int]) -> _Hands:
        """Return the hands of five on these notes, of fewer fingers where there is no room for ten keys."""
        found = cls(frozenset(notes), (), ())
        for fingers in range(FINGERS, 1, -1):
            found = cls._of(notes, fingers)
            if found.fit:
                break
        return found

    @classmethod
    def _of(cls, notes: Sequence[int], fingers: int) -> _Hands:
        known, shapes = frozenset(notes), sorted({shape[:fingers] for shape in hand_shapes()})
        right = [tuple(note + up for up in shape) for note in notes for shape in shapes]
        left = [tuple(note - up for up in reversed(shape)) for note in notes for shape in shapes]
        return cls(known, *(tuple(hand for hand in hands if known.issuperset(hand)) for hands in (left, right)))

    @property
    def fit(self) -> bool:
        """True when both hands find room beside each other."""
        return bool(self.left) and min(hand[-1] for hand in self.left) < max((hand[0] for hand in self.right), default=0)

    def anywhere(self, random: Random) -> Chord:
        """Return any chord of two hands."""
        while True:
            left, right = random.choice(self.left), random.choice(self.right)
            if left[-1] < right[0]:
                return Chord(left + right, len(left))

    def changed(self, chord: Chord, random: Random) -> Chord | None:
        """Return the chord with one hand or one finger elsewhere; None when that cannot be held."""
        is_left = random.random() < 0.5
        hand = chord.left if is_left else chord.right
        if random.random() < _NEW_HAND_SHARE:
            moved = random.choice(self.left if is_left else self.right)
        else:
            moved = self._one_finger(hand, random)
        left, right = (moved, chord.right) if is_left else (chord.left, moved)
        holds = (left_hand_holds if is_left else right_hand_holds)(moved)
        if not holds or left[-1] >= right[0] or not self.notes.issuperset(moved):
            return None
        return Chord(left + right, len(left))

    @staticmethod
    def _one_finger(hand: _Hand, random: Random) -> _Hand:
        finger = random.randrange(len(hand))
        return (*hand[:finger], hand[finger] + random.choice(_FINGER_STEPS), *hand[finger + 1 :])


class _Search:
    """One run of the search over one keyboard."""

    def __init__(self, matrix: KeyMatrix, hands: _Hands, random: Random, watch: Watch, wanted: int) -> None:
        self._matrix, self._hands, self._random, self._watch = matrix, hands, random, watch
        self._wanted = wanted
        self.over = False

    def improved(self, known: Sequence[Chord], count: int) -> tuple[Chord, ...]:
        """Return the best `count` chords found, beginning from those known and as many new ones as are missing."""
        fresh = (self._hands.anywhere(self._random) for _ in range(count - len(known)))
        state = _State(self._matrix, [*known, *fresh])
        best, located = tuple(state.chords), state.located
        for move in range(MOVES):
            if located == self._wanted:
                self.over = True
            elif move % MOVES_BETWEEN_REPORTS == 0:
                self.over = not self._watch(Progress(count, located, self._wanted))
            if self.over:
                break
            self._move(state, _HOT * (_COLD / _HOT) ** (move / MOVES))
            if state.located > located:
                best, located = tuple(state.chords), state.located
        return best

    def _move(self, state: _State, warmth: float) -> None:
        place = self._random.randrange(len(state.chords))
        before, located = state.chords[place], state.located
        after = self._hands.changed(before, self._random)
        if after is None:
            return
        state.put(place, after)
        if state.located < located and self._random.random() >= exp((state.located - located) / warmth):
            state.put(place, before)


class _State:
    """A set of chords with the signature of every diode, kept up to date chord by chord."""

    def __init__(self, matrix: KeyMatrix, chords: Sequence[Chord]) -> None:
        self._matrix = matrix
        self._bits = matrix.rows * matrix.columns
        self._masks: list[dict[int, int]] = [{} for _ in chords]
        self._signature = dict.fromkeys(matrix.keys, 0)
        self._shared = Counter({0: len(matrix.keys)})
        self._alone = 0
        self.chords = list(chords)
        for place, chord in enumerate(chords):
            self.put(place, chord)

    @property
    def located(self) -> int:
        """How many diodes have a signature of their own."""
        return self._alone

    def put(self, place: int, chord: Chord) -> None:
        """Replace one chord."""
        before, after = self._masks[place], ghost_masks(self._matrix, chord.keys)
        self.chords[place], self._masks[place] = chord, after
        shift = place * self._bits
        for key in before.keys() | after.keys():
            change = before.get(key, 0) ^ after.get(key, 0)
            if change:
                self._sign(key, self._signature[key] ^ change << shift)

    def _sign(self, key: int, signature: int) -> None:
        old, self._signature[key] = self._signature[key], signature
        for changed, step in ((old, -1), (signature, 1)):
            was_alone = changed != 0 and self._shared[changed] == 1
            self._shared[changed] += step
            self._alone += (changed != 0 and self._shared[changed] == 1) - was_alone
            if not self._shared[changed]:
                del self._shared[changed]
