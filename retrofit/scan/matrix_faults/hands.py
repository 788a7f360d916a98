"""What two hands can hold: five keys each, neighbours near enough for the fingers, and the hands side by side."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, product

FINGERS = 5
FINGER_SEMITONES = 4
THUMB_SEMITONES = 7
HAND_SEMITONES = 12
"""The most semitones between neighbours, between thumb and index, and over a hand; common practice, no source."""


def hand_shapes() -> Iterator[tuple[int, ...]]:
    """Yield every right hand of five fingers as semitones above its thumb; a left hand is its mirror image."""
    fingers = range(1, FINGER_SEMITONES + 1)
    for gaps in product(range(1, THUMB_SEMITONES + 1), fingers, fingers, fingers):
        if sum(gaps) <= HAND_SEMITONES:
            yield tuple(sum(gaps[:count]) for count in range(FINGERS))


def right_hand_holds(notes: Sequence[int]) -> bool:
    """True when the right hand holds these rising notes, the thumb at the lowest."""
    gaps = [above - below for below, above in pairwise(notes)]
    return (
        len(notes) <= FINGERS
        and all(0 < gap <= (FINGER_SEMITONES if finger else THUMB_SEMITONES) for finger, gap in enumerate(gaps))
        and sum(gaps) <= HAND_SEMITONES
    )


def left_hand_holds(notes: Sequence[int]) -> bool:
    """True when the left hand holds these rising notes, the thumb at the highest."""
    return right_hand_holds([-note for note in reversed(notes)])


def hands_hold(left: Sequence[int], right: Sequence[int]) -> bool:
    """True when both hands hold their rising notes and do not cross."""
    apart = not left or not right or left[-1] < right[0]
    return apart and left_hand_holds(left) and right_hand_holds(right)
