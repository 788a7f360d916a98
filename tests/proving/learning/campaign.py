"""Lessons by the thousand: `python -m tests.proving.learning.campaign [SEED]` prints how they went, and the seed."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from random import Random, SystemRandom

from retrofit.proving.learning.order import Blocks, agreed_order, order_heard
from tests.proving.learning.players import Habits, Keyboard, keyboard, pressed, run_over, taught

COUNTS = (5, 13, 25, 32, 49, 61)


@dataclass(frozen=True)
class PlayerKind:
    """A kind of player, the share of keys that let hear nothing, and whether he plays back down as well."""

    habits: Habits
    silent: float = 0.0
    both_ways: bool = False


EXACT = PlayerKind(Habits(miss=0, double=0, back=0, brush=0, light=0))
KINDS = {
    "usual": PlayerKind(Habits()),
    "usual, some keys silent": PlayerKind(Habits(), silent=0.02),
    "wild, some keys silent": PlayerKind(Habits(miss=0.06, double=0.1, back=0.06, brush=0.06, light=0.06), silent=0.02),
    "keys in the wrong order, and back down": PlayerKind(Habits(late=0.001), silent=0.02, both_ways=True),
}


@dataclass
class Outcome:
    """How lessons went: wrong places by seed, lessons that left nothing open, presses asked for, and runs played."""

    wrong: list[tuple[int, dict[str, str]]] = field(default_factory=list)
    complete: int = 0
    asked: int = 0
    asked_most: int = 0
    runs: int = 0


def campaign(kind: PlayerKind, random: Random, cases: int) -> Outcome:
    """Hold lessons, each from a seed of its own."""
    outcome = Outcome()
    for _ in range(cases):
        seed = random.getrandbits(32)
        _lesson(kind, seed, outcome)
    return outcome


def _lesson(kind: PlayerKind, seed: int, outcome: Outcome) -> None:
    random = Random(seed)
    board = keyboard(random, random.choice(COUNTS), kind.silent)
    lesson = taught(board, lambda: _order(board, random, kind), lambda key: pressed(board, key, random, kind.habits))
    places = lesson.learned.places
    wrong = {key: place for key, place in places.items() if key in board.silent or board.wired[key] != place}
    if wrong:
        outcome.wrong.append((seed, wrong))
    outcome.complete += set(places) == set(board.keys) - board.silent
    outcome.asked += lesson.asked
    outcome.asked_most = max(outcome.asked_most, lesson.asked)
    outcome.runs += lesson.runs


def _order(board: Keyboard, random: Random, kind: PlayerKind) -> Blocks:
    up = order_heard(run_over(board, random, kind.habits))
    if not kind.both_ways:
        return up
    return agreed_order(up, order_heard(run_over(board, random, kind.habits, down=True)))


def main(seed: int, cases: int) -> None:
    """Print how lessons of every kind of player went."""
    say = sys.stdout.write
    say(f"seed {seed}, {cases} lessons of each kind\n")
    for name, kind in {"exact": EXACT, **KINDS}.items():
        found = campaign(kind, Random(f"{seed} {name}"), cases)
        say(
            f"{name}: {len(found.wrong)} wrong, {found.complete} complete, {found.asked / cases:.1f} presses asked for "
            f"on average, {found.asked_most} at most, {found.runs / cases:.2f} runs\n"
        )
        for one in found.wrong:
            say(f"  {one}\n")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else SystemRandom().getrandbits(32), 3000)
