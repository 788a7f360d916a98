"""Random wirings and clumsy players: what is learned is the true order, or stays open; it is never a wrong place."""

from __future__ import annotations

from random import Random

import pytest

from tests.proving.learning.campaign import EXACT, KINDS, Outcome, campaign

CASES = 250
"""For each kind of player; `python -m tests.proving.learning.campaign` plays thousands with a fresh seed."""


def played(kind: str) -> Outcome:
    """Return how lessons of one kind of player went, the same ones in every run of the tests."""
    return campaign(KINDS[kind], Random(kind), CASES)


@pytest.mark.parametrize("kind", KINDS)
def test_no_key_ever_gets_a_wrong_place(kind: str) -> None:
    """Whatever the player does, a key has its own place in the end, or none; almost always all have theirs."""
    outcome = played(kind)
    assert outcome.wrong == []
    assert outcome.complete >= 0.97 * CASES


def test_an_exact_player_is_asked_nothing() -> None:
    """One run without a slip settles a sound keyboard, whatever its wiring."""
    outcome = campaign(EXACT, Random(1), CASES)
    assert (outcome.wrong, outcome.complete, outcome.asked, outcome.runs) == ([], CASES, 0, CASES)


def test_a_usual_player_is_asked_for_a_few_keys() -> None:
    """With a slip or two in every run, on average no more than a dozen presses settle it."""
    assert played("usual").asked <= 12 * CASES
