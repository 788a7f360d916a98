"""In which order the places of a group were first heard during a run, as far as that is certain.

A run goes from the first key to the last.  Keys may be left out, struck twice or gone back to, and a neighbour may be
brushed; so places are told in blocks: the order of blocks is certain, that within a block is not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from retrofit.proving.evidence import Stroke

Blocks = tuple[tuple[str, ...], ...]
"""Places in the order of the keys; those within one block are in no certain order."""


def order_heard(run: Iterable[Stroke]) -> Blocks:
    """Return the places of a run in blocks.

    What is taken for granted: the hand goes on from key to key, and when it has gone back it plays on through the keys
    from there.  A place is in no certain order with what sounded together with it, with what was still held, and with
    all that the hand went back to since the last new place.
    """
    reader = _Reader()
    for stroke in run:
        if stroke.heard:
            reader.take(stroke)
    return reader.blocks()


class _Reader:
    def __init__(self) -> None:
        self._places: dict[str, int] = {}
        self._joins: list[int] = []
        """For each place, the first place that it is in no certain order with; itself when there is none."""
        self._touched: set[int] = set()
        self._held: list[tuple[int, int]] = []

    def take(self, stroke: Stroke) -> None:
        """Take one press: its new places go behind all others, or into a block with them."""
        first_new = len(self._places)
        new = [heard.point for heard in stroke.heard if heard.point not in self._places]
        beside = {self._places[heard.point] for heard in stroke.heard if heard.point in self._places}
        beside |= self._still_held(stroke.heard[0].on_us)
        went_back = self._touched - {first_new - 1}
        if new:
            doubt = beside | (self._touched if went_back else set())
            start = min(doubt, default=first_new)
            self._places |= {place: first_new + number for number, place in enumerate(new)}
            self._joins += [start] * len(new)
        indices = {self._places[heard.point] for heard in stroke.heard}
        self._touched = indices if new else self._touched | indices
        self._hold(stroke, min(indices))

    def _still_held(self, now_us: int) -> set[int]:
        self._held = [(until_us, index) for until_us, index in self._held if until_us > now_us]
        return {index for _, index in self._held}

    def _hold(self, stroke: Stroke, index: int) -> None:
        self._held.append((max(heard.on_us if heard.off_us is None else heard.off_us for heard in stroke.heard), index))

    def blocks(self) -> Blocks:
        """Return the places, joined into one block wherever their order is not certain.

        A hand that has gone back at the end may have gone back for a key that it had left out: the last new place.
        """
        if self._touched - {len(self._places) - 1}:
            self._joins[-1] = min(self._joins[-1], *self._touched)
        return _joined(list(self._places), self._joins)


def _joined(places: Sequence[str], joins: Sequence[int]) -> Blocks:
    """Return blocks in which every place is together with all from the index that it is joined to."""
    blocks: list[list[str]] = []
    starts: list[int] = []
    for index, place in enumerate(places):
        block, start = [place], index
        while starts and start > joins[index]:
            block, start = [*blocks.pop(), *block], starts.pop()
        blocks.append(block)
        starts.append(start)
    return tuple(map(tuple, blocks))


def agreed_order(up: Blocks, down: Blocks) -> Blocks:
    """Return the order of a run upwards, with a block wherever a run back down does not say the same.

    A place that the run down did not let hear is in no certain order with those beside it; one that it alone let hear
    is not among them.
    """
    back = {place: number for number, block in enumerate(reversed(down)) for place in block}
    places = [place for block in up for place in block]
    joins = [index for index, block in enumerate(up) for _ in block]
    starts = [joins.index(number) for number in joins]
    for index, place in enumerate(places):
        unproven = [index - 1] if index and not {place, places[index - 1]} <= back.keys() else []
        denied = [other for other in range(index) if _is_unproven(places[other], place, back)]
        starts[index] = min(starts[index], *(starts[other] for other in (*unproven, *denied)), index)
    return _joined(places, starts)


def _is_unproven(first: str, second: str, back: Mapping[str, int]) -> bool:
    return first in back and second in back and back[second] <= back[first]
