"""Where each hand can lie on a keyboard, and the ways to change a chord by one hand or one finger."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import Random

from retrofit.scan.matrix_faults.chords import Chord
from retrofit.scan.matrix_faults.hands import FINGERS, hand_shapes, left_hand_holds, right_hand_holds

_FINGER_STEPS = (-3, -2, -1, 1, 2, 3)
_Hand = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class HandPlaces:
    """Every hand that a keyboard has room for, and those that hold a given note."""

    notes: frozenset[int]
    left: tuple[_Hand, ...]
    right: tuple[_Hand, ...]
    left_on: Mapping[int, tuple[_Hand, ...]]
    right_on: Mapping[int, tuple[_Hand, ...]]

    @property
    def fit(self) -> bool:
        """True when both hands find room beside each other."""
        if not self.left or not self.right:
            return False
        return min(hand[-1] for hand in self.left) < max(hand[0] for hand in self.right)

    def anywhere(self, random: Random) -> Chord:
        """Return any chord of two hands."""
        while True:
            left, right = random.choice(self.left), random.choice(self.right)
            if left[-1] < right[0]:
                return Chord(left + right, len(left))

    def new_hand(self, chord: Chord, random: Random) -> Chord | None:
        """Return the chord with one hand anywhere else; None when the hands would cross."""
        return _joined(chord, random, self.left, self.right)

    def hand_on(self, note: int, chord: Chord, random: Random) -> Chord | None:
        """Return the chord with one hand on a note; None when it cannot lie there."""
        return _joined(chord, random, self.left_on[note], self.right_on[note])

    def finger_moved(self, chord: Chord, random: Random) -> Chord | None:
        """Return the chord with one finger up to three semitones elsewhere; None when that cannot be held."""
        finger, left_keys = random.randrange(len(chord.keys)), chord.left_keys or 0
        moved = chord.keys[finger] + random.choice(_FINGER_STEPS)
        keys = (*chord.keys[:finger], moved, *chord.keys[finger + 1 :])
        held = left_hand_holds(keys[:left_keys]) if finger < left_keys else right_hand_holds(keys[left_keys:])
        if moved not in self.notes or not held or keys[left_keys - 1] >= keys[left_keys]:
            return None
        return Chord(keys, left_keys)


def _joined(chord: Chord, random: Random, left: Sequence[_Hand], right: Sequence[_Hand]) -> Chord | None:
    is_left = random.random() < 0.5
    hands = left if is_left else right
    if not hands:
        return None
    hand = random.choice(hands)
    low, high = (hand, chord.right) if is_left else (chord.left, hand)
    return Chord(low + high, len(low)) if low[-1] < high[0] else None


def hand_places(notes: Sequence[int]) -> HandPlaces:
    """Return the hands of five on rising notes, of fewer fingers where there is no room for ten keys."""
    found = _places(notes, FINGERS)
    for fingers in range(FINGERS - 1, 1, -1):
        if not found.fit:
            found = _places(notes, fingers)
    return found


def _places(notes: Sequence[int], fingers: int) -> HandPlaces:
    known, shapes = frozenset(notes), sorted({shape[:fingers] for shape in hand_shapes()})
    right = [tuple(note + up for up in shape) for note in notes for shape in shapes]
    left = [tuple(note - up for up in reversed(shape)) for note in notes for shape in shapes]
    left_held, right_held = (tuple(hand for hand in hands if known.issuperset(hand)) for hands in (left, right))
    return HandPlaces(known, left_held, right_held, _by_note(left_held, notes), _by_note(right_held, notes))


def _by_note(hands: Sequence[_Hand], notes: Sequence[int]) -> dict[int, tuple[_Hand, ...]]:
    return {note: tuple(hand for hand in hands if note in hand) for note in notes}
