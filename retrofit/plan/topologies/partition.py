"""Dividing groups over the fewest boards on which each set of them fits; a group is never divided."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

MOST_TRIALS = 500
"""Sets of groups that are tried for one number of boards before the search for it is given up."""
Fits = Callable[[frozenset[str]], bool]


@dataclass(frozen=True, slots=True)
class Partition:
    """The groups of each board; `least_proven` is True when fewer boards were tried in every way and held them not."""

    boards: tuple[tuple[str, ...], ...]
    least_proven: bool


class _GivenUpError(Exception):
    """Too many sets were tried."""


def fewest_boards(sizes: Mapping[str, int], fits: Fits) -> Partition | None:
    """Return the groups on the fewest boards, largest groups first; None when a group fits on no board at all."""
    if any(not fits(frozenset((group,))) for group in sizes):
        return None
    proven = True
    for number in range(1, len(sizes) + 1):
        try:
            if boards := _Search(sizes, fits, number).boards():
                return Partition(boards, proven)
        except _GivenUpError:
            proven = False
            if filled := on_boards(sizes, fits, number):
                return filled
    return None


def on_boards(sizes: Mapping[str, int], fits: Fits, number: int) -> Partition | None:
    """Return the groups on exactly this many boards, each going to the board with the fewest contacts that holds it.

    None when there are fewer groups than boards, or when this way of filling them leaves a group over.
    """
    if number > len(sizes):
        return None
    boards: list[list[str]] = [[] for _ in range(number)]
    for group in _largest_first(sizes):
        filled = sorted(boards, key=lambda board: sum(sizes[other] for other in board))
        room = next((board for board in filled if fits(frozenset((*board, group)))), None)
        if room is None:
            return None
        room.append(group)
    return Partition(_in_order(boards, sizes), least_proven=False) if all(boards) else None


def _largest_first(sizes: Mapping[str, int]) -> list[str]:
    return sorted(sizes, key=lambda group: -sizes[group])


def _in_order(boards: Sequence[Sequence[str]], sizes: Mapping[str, int]) -> tuple[tuple[str, ...], ...]:
    """Return the groups of each board in the order of the job, and the boards by their first group."""
    order = list(sizes)
    return tuple(sorted((tuple(sorted(b, key=order.index)) for b in boards), key=lambda b: order.index(b[0])))


class _Search:
    """A search through every way of dividing the groups over one number of boards."""

    def __init__(self, sizes: Mapping[str, int], fits: Fits, number: int) -> None:
        self._sizes, self._fits, self._number = sizes, fits, number
        self._trials = 0

    def boards(self) -> tuple[tuple[str, ...], ...] | None:
        """Return the first way found, or None when there is none.  Raises `_GivenUpError` after too many trials."""
        found = self._place(_largest_first(self._sizes), [])
        return None if found is None else _in_order(found, self._sizes)

    def _place(self, groups: Sequence[str], boards: list[tuple[str, ...]]) -> list[tuple[str, ...]] | None:
        if not groups:
            return boards
        group, *rest = groups
        for index in range(min(len(boards) + 1, self._number)):
            board = (*boards[index], group) if index < len(boards) else (group,)
            if self._try(board):
                found = self._place(rest, [*boards[:index], board, *boards[index + 1 :]])
                if found is not None:
                    return found
        return None

    def _try(self, board: tuple[str, ...]) -> bool:
        self._trials += 1
        if self._trials > MOST_TRIALS:
            raise _GivenUpError
        return self._fits(frozenset(board))
