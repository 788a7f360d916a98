"""The pretended player: slips as often as they should be, and moves that a hand can make."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from random import Random

import pytest
from scipy import stats

from retrofit.rehearsal.standin.hands import KeyMove, Move, Spike
from retrofit.rehearsal.standin.manners import CLUMSY, EXACT, MANNERS, SHORTEST_HELD_MS, Manner
from retrofit.rehearsal.standin.player import Player, control_points
from tests.rehearsal.standin.consoles import HEAD, keys, plan_of

POINTS = [f"key {n}" for n in range(2000)]
CERTAIN = 1e-4
"""A test that is right fails once in so many."""


def downs(moves: list[Move]) -> list[str]:
    """Return the points pressed, in order."""
    return [move.point for move in moves if isinstance(move, KeyMove) and move.down]


def test_an_exact_player_presses_each_key_once_in_order() -> None:
    """Nothing left out, nothing twice, evenly."""
    moves = Player(Random(1), EXACT).run(POINTS[:50], 1000)
    assert downs(moves) == POINTS[:50]
    assert {later.time_us - sooner.time_us for sooner, later in zip(moves[::2], moves[2::2], strict=False)} == {400_000}


@pytest.mark.parametrize("slip", ["missed", "doubled", "brushed"])
def test_slips_are_as_frequent_as_said(slip: str) -> None:
    """The number of keys left out, struck twice or brushed fits the binomial distribution."""
    manner = Manner(pace_ms=300, **{slip: 0.05})
    counts = Counter(downs(Player(Random(2), manner).run(POINTS, 0)))
    slips = sum(abs(counts[point] - 1) for point in POINTS)
    assert stats.binomtest(slips, len(POINTS), 0.05).pvalue > CERTAIN


def test_going_back_strikes_a_key_again() -> None:
    """After going back the run goes on from there."""
    pressed = downs(Player(Random(3), Manner(pace_ms=300, again=0.2)).run(POINTS[:200], 0))
    assert len(pressed) > 200
    assert set(pressed) == set(POINTS[:200])
    steps = {POINTS.index(b) - POINTS.index(a) for a, b in pairwise(pressed)}
    assert steps == {1, -1}


@pytest.mark.parametrize("name", MANNERS)
def test_every_press_is_let_go_later(name: str) -> None:
    """Moves come in order of time, and each point goes down and up in turn, held for a while."""
    moves = Player(Random(4), MANNERS[name]).run(POINTS[:300], 5)
    assert [move.time_us for move in moves] == sorted(move.time_us for move in moves)
    pressed: dict[str, list[KeyMove]] = {}
    for move in moves:
        assert isinstance(move, KeyMove)
        pressed.setdefault(move.point, []).append(move)
    if name != "clumsy":
        for own in pressed.values():
            assert [move.down for move in own] == [True, False] * (len(own) // 2)
            assert own[1].time_us - own[0].time_us >= SHORTEST_HELD_MS * 1000


def test_a_chord_is_held_together() -> None:
    """All keys are down at one time."""
    moves = Player(Random(5)).chord(POINTS[:8], 1000, 500)
    assert max(m.time_us for m in moves if isinstance(m, KeyMove) and m.down) < min(
        m.time_us for m in moves if isinstance(m, KeyMove) and not m.down
    )


def test_who_is_asked_answers_within_his_time() -> None:
    """He presses what he was asked for, after a moment."""
    down, up = Player(Random(6)).asked("key 7", 10_000_000)
    assert isinstance(down, KeyMove)
    assert (down.point, down.down) == ("key 7", True)
    assert 300_000 <= down.time_us - 10_000_000 <= 1_500_000
    assert up.time_us > down.time_us


def test_interference_comes_as_often_as_said() -> None:
    """Events follow a Poisson process; each keys up to four lines for a moment."""
    moves = Player(Random(7)).interference(POINTS[:60], 0, 3600, 30)
    assert all(isinstance(move, Spike) and 5 <= move.length_us <= 400 for move in moves)
    events = len({move.time_us for move in moves})
    assert stats.poisson(1800).cdf(events) > CERTAIN
    assert stats.poisson(1800).sf(events - 1) > CERTAIN
    assert Player(Random(7)).interference([], 0, 3600, 30) == []


def test_controls_that_are_not_there_are_not_played() -> None:
    """A key that is not fitted is passed over; one that is dead is pressed, for the hand does not know."""
    extra = 'points = [{ note = 37, condition = "not-fitted" }, { note = 38, condition = "dead" }]\n'
    plan = plan_of(HEAD % "" + keys("great", 4) + extra)
    assert control_points(plan, "great") == ["great.36", "great.38", "great.39"]


def test_a_clumsy_player_differs_from_seed_to_seed() -> None:
    """Same seed, same moves; another one, others."""
    runs = [Player(Random(seed), CLUMSY).run(POINTS[:60], 0) for seed in (1, 1, 2)]
    assert runs[0] == runs[1] != runs[2]
