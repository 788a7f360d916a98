"""Groups on the fewest boards, against trying every way."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from retrofit.plan.topologies import partition
from retrofit.plan.topologies.partition import Fits, fewest_boards, on_boards

SIZES = st.dictionaries(st.sampled_from("abcdef"), st.integers(1, 9), min_size=1)
ROOM = 10


def room_for(sizes: dict[str, int], room: int = ROOM) -> Fits:
    """Return whether groups fit on a board that has so much room."""
    return lambda groups: sum(sizes[group] for group in groups) <= room


def by_trying(sizes: dict[str, int]) -> int:
    """Return the fewest boards by trying every division."""
    groups = list(sizes)
    for number in range(1, len(groups) + 1):
        for places in product(range(number), repeat=len(groups)):
            boards = [
                sum(sizes[g] for g, place in zip(groups, places, strict=True) if place == n) for n in range(number)
            ]
            if max(boards) <= ROOM:
                return number
    raise AssertionError("every group fits alone")


@given(SIZES)
def test_no_way_needs_fewer_boards(sizes: dict[str, int]) -> None:
    """The search finds as few boards as trying every way, keeps every group whole, and overfills none."""
    found = fewest_boards(sizes, room_for(sizes))
    assert found is not None
    assert (len(found.boards), found.least_proven) == (by_trying(sizes), True)
    assert sorted(group for board in found.boards for group in board) == sorted(sizes)
    assert all(room_for(sizes)(frozenset(board)) for board in found.boards)


def test_a_group_that_fits_nowhere() -> None:
    """A group larger than a board cannot be placed."""
    assert fewest_boards({"a": 11}, room_for({"a": 11})) is None


def test_a_search_that_is_given_up_does_not_claim_the_least(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without trials left the boards are filled one by one, and nothing is proven."""
    sizes = dict.fromkeys("abcde", 6)
    monkeypatch.setattr(partition, "MOST_TRIALS", 5)
    found = fewest_boards(sizes, room_for(sizes))
    assert found is not None
    assert (len(found.boards), found.least_proven) == (5, False)


def test_as_many_boards_as_asked_for() -> None:
    """Groups go to the emptier board, in the order of the job; more boards than groups cannot be had."""
    sizes = {"a": 3, "b": 9, "c": 4, "d": 2}
    found = on_boards(sizes, room_for(sizes, 99), 2)
    assert found is not None
    assert found.boards == (("a", "c", "d"), ("b",))
    assert on_boards(sizes, room_for(sizes, 99), 5) is None
    assert on_boards(sizes, room_for(sizes, 8), 2) is None
