"""The search for hand-held chords: playable, few, repeatable, and stopped when asked."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.scan.matrix_faults.chord_plan import chords_for_hands
from retrofit.scan.matrix_faults.chords import Chord, located_keys
from retrofit.scan.matrix_faults.crossings import KeyMatrix, regular_matrix
from retrofit.scan.matrix_faults.search import MOVES_BETWEEN_REPORTS, Progress
from retrofit.scan.matrix_faults.tally import Tally
from tests.scan.matrix_faults.cases import EIGHT_CHORDS, MATRICES


def assert_playable(chord: Chord) -> None:
    """Two hands, left below right, five keys each: gaps of 4, of 7 at the thumb, 12 in all."""
    left, right = chord.left, chord.right
    assert len(left) <= 5
    assert len(right) <= 5
    assert chord.keys == tuple(sorted(set(chord.keys)))
    for hand, thumb in ((left, len(left) - 2), (right, 0)):
        for place, (low, high) in enumerate(pairwise(hand)):
            assert high - low <= (7 if place == thumb else 4)
        assert not hand or hand[-1] - hand[0] <= 12


def test_sixty_one_keys_take_eight_chords() -> None:
    """61 keys on 8 x 8 are all located by eight chords whose every ghost is a key that sends."""
    plan = chords_for_hands(MATRICES["8 x 8"])
    assert len(plan.chords) <= 8
    assert plan.located == set(MATRICES["8 x 8"].keys)


@pytest.mark.parametrize("name", MATRICES)
def test_every_matrix_is_covered_by_hands(name: str) -> None:
    """Each matrix is located whole, by chords that two hands hold."""
    plan = chords_for_hands(MATRICES[name])
    for chord in plan.chords:
        assert_playable(chord)
    assert plan.located == set(MATRICES[name].keys)
    assert plan.by_three_keys == ()


@pytest.mark.parametrize("chord", EIGHT_CHORDS, ids=str)
def test_the_check_agrees_with_a_list_found_elsewhere(chord: Chord) -> None:
    """A list that was made for two hands passes as playable."""
    assert_playable(chord)


def test_the_check_of_hands_can_fail() -> None:
    """A gap of five semitones between two fingers is not playable."""
    with pytest.raises(AssertionError):
        assert_playable(Chord((36, 41, 42, 43, 44), 5))


def test_same_seed_same_chords() -> None:
    """The search is repeatable, and another seed finds other chords."""
    matrix = MATRICES["5 x 5"]
    first, second, other = (chords_for_hands(matrix, seed=seed).chords for seed in (3, 3, 4))
    assert first == second
    assert first != other


def test_progress_is_told_and_the_search_stops() -> None:
    """The watcher sees located diodes grow, and a refusal ends the search with what there is."""
    seen: list[Progress] = []

    def watch(progress: Progress) -> bool:
        seen.append(progress)
        return len(seen) < 3

    matrix = regular_matrix(36, 64, rows=8, columns=8)
    plan = chords_for_hands(matrix, watch=watch)
    assert len(seen) == 4
    assert seen[0].located < seen[2].located
    assert seen[3].located == len(plan.located)
    assert 0 < len(plan.located) < 64
    assert len(plan.located) + len(plan.by_three_keys) == 64
    assert MOVES_BETWEEN_REPORTS < 1000


def test_short_rows_leave_what_no_ghost_can_show() -> None:
    """13 keys on rows of eight: columns with one key make no ghost, and those are said to be without."""
    plan = chords_for_hands(regular_matrix(36, 13, rows=2, columns=8))
    assert plan.without_ghost == (41, 42, 43)
    assert plan.located == {*range(36, 41), *range(44, 49)}


@pytest.mark.parametrize(("rows", "columns"), [(1, 8), (8, 1)])
def test_a_single_row_or_column_has_no_ghost(rows: int, columns: int) -> None:
    """No diode of a single row or column can be tested, nor need it be."""
    plan = chords_for_hands(regular_matrix(36, 8, rows=rows, columns=columns))
    assert (plan.chords, plan.by_three_keys, plan.unheard) == ((), (), ())
    assert plan.without_ghost == tuple(range(36, 44))


def test_a_ghost_that_nobody_hears() -> None:
    """Three keys of a rectangle whose fourth crossing sends nothing: the key at the corner is said to be unheard."""
    plan = chords_for_hands(regular_matrix(36, 3, rows=2, columns=2))
    assert (plan.unheard, plan.without_ghost) == ((36,), (37, 38))


def test_a_keyboard_too_short_for_two_hands_is_left_to_three_keys() -> None:
    """Four keys on 2 x 2: hands of two cannot hide the rectangle, so three keys test each diode."""
    plan = chords_for_hands(regular_matrix(36, 4, rows=2, columns=2))
    assert plan.located == frozenset()
    assert [test.key for test in plan.by_three_keys] == [36, 37, 38, 39]


CHORDS = st.lists(
    st.sets(st.integers(0, 24), min_size=2, max_size=8).map(lambda keys: Chord(tuple(sorted(keys)))),
    min_size=2,
    max_size=6,
)


@given(chords=CHORDS, changes=CHORDS)
@settings(max_examples=50, deadline=None)
def test_the_running_count_is_the_count(chords: list[Chord], changes: list[Chord]) -> None:
    """After any replacements the tally says what a fresh count says."""
    matrix: KeyMatrix = regular_matrix(0, 25, rows=5, columns=5)
    tally = Tally(matrix, chords)
    for number, chord in enumerate(changes):
        tally.put(number % len(chords), chord)
        located = located_keys(matrix, tally.chords)
        assert tally.located == len(located)
        assert set(tally.not_located()) == set(matrix.keys) - located
