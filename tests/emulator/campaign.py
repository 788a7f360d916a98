"""The long run: `python -m tests.emulator.campaign --help` lists its options.

Plays every point of the demo jobs again and again, each round from another seed, then consoles drawn by chance, and
says what was heard, how late, and how busy the controller was, each beside what the plan predicts; last comes a table
of all consoles.  Everything can be repeated from its seed.  Exit code 1 when a promise was broken.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from random import Random

from tests.emulator.compared import Compared, compare, table
from tests.emulator.demos import DEMOS, Console, console, demo
from tests.emulator.harness import Seen
from tests.emulator.playing import clean_strokes, last_points, perform, play_everything, playable
from tests.emulator.proof import Verdict
from tests.emulator.quiet import quiet_scans, tick_times
from tests.emulator.random_jobs import random_job

STROKES = 60
"""Of each group's last point on an idle wire, to meet phases near the worst."""


def main(arguments: list[str] | None = None) -> int:
    """Run the campaign and return the exit code."""
    options = _options(arguments)
    whole = True
    rows = []
    for name, each, seed in _consoles(options):
        row, spotless = _round(name, each, seed, _repetitions(each, options))
        rows.append(row)
        whole = whole and spotless and row.kept
    _say(table(rows))
    return 0 if whole else 1


def _repetitions(console: Console, options: argparse.Namespace) -> int:
    """Return how often every point is played: as wished, or as often as the wished number of changes takes."""
    changes: int = options.events
    repetitions: int = options.repetitions
    return -(-changes // (2 * len(playable(console.plan)))) if changes else repetitions


def _options(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.emulator.campaign", description="Play consoles at length.")
    parser.add_argument("--demo", action="append", choices=DEMOS, help="one demo job; both when left out")
    parser.add_argument("--rounds", type=int, default=1, help="rounds on the demo jobs, each from the next seed")
    parser.add_argument("--drawn", type=int, default=0, help="consoles drawn by chance, each from the next seed")
    parser.add_argument("--repetitions", type=int, default=20, help="strokes on every point in one round")
    parser.add_argument("--events", type=int, default=0, help="overlapping changes in one round instead, at least")
    parser.add_argument("--seed", type=int, default=1, help="first seed")
    return parser.parse_args(arguments)


def _consoles(options: argparse.Namespace) -> Iterator[tuple[str, Console, int]]:
    for seed in range(options.seed, options.seed + options.rounds):
        for name in options.demo or DEMOS:
            yield name, demo(name), seed
    for seed in range(options.seed, options.seed + options.drawn):
        yield f"drawn {seed}", console(random_job(seed)), seed


def _round(name: str, played_on: Console, seed: int, repetitions: int) -> tuple[Compared, bool]:
    seen, verdict = perform(played_on, play_everything(played_on, Random(seed), repetitions))
    _say(f"{name}, seed {seed}: {verdict.changes} changes, {verdict.messages} messages, {_effort(seen)}")
    strokes = clean_strokes(played_on, Random(seed), last_points(played_on.plan), STROKES)
    _, timed = perform(played_on, strokes)
    _say_latencies(played_on, timed)
    _say_busy(played_on)
    for each in (verdict, timed):
        _say(each.report())
    _say("\n".join(f"problem: {words} ({count} times)" for words, count in seen.problems.items()))
    return compare(name, played_on, (verdict, timed)), not seen.problems


def _effort(seen: Seen) -> str:
    speed = seen.cycles / seen.wall_ms / 1000
    return f"{seen.events_applied} edges, {seen.cycles / 16e6:.0f} s at {speed:.0f} million cycles a second"


def _say_latencies(played_on: Console, verdict: Verdict) -> None:
    for group in played_on.plan.groups:
        if found := verdict.latencies.get(group.id):
            press, release = max(found.press_us, default=0), max(found.release_us, default=0)
            _say(
                f"  {group.id}: worst press {press:.0f} of {group.press_latency_us_max:.0f} µs predicted, "
                f"release {release:.0f} of {group.release_latency_us_max:.0f} µs"
            )


def _say_busy(played_on: Console) -> None:
    measured, predicted = tick_times(played_on.plan, quiet_scans(played_on))
    for runs in measured:
        _say(f"  runs {runs}: busy {measured[runs]:.1f} µs, predicted {predicted[runs]:.1f} µs")


def _say(text: str) -> None:
    if text:
        sys.stdout.write(f"{text}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
