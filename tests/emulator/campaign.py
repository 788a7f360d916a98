"""The long run: `python -m tests.emulator.campaign --help` lists its options.

Plays every point of the demo jobs again and again, each round from another seed, and says what was heard; a round can
be repeated from its seed.  Exit code 1 when a promise was broken.
"""

from __future__ import annotations

import argparse
import sys
from random import Random

from tests.emulator.demos import DEMOS, Console, demo
from tests.emulator.harness import Seen
from tests.emulator.playing import clean_strokes, last_points, perform, play_everything
from tests.emulator.proof import Verdict


def main(arguments: list[str] | None = None) -> int:
    """Run the campaign and return the exit code."""
    options = _options(arguments)
    sound = True
    for turn in range(options.rounds):
        for name in options.demo or DEMOS:
            sound &= _round(name, options.seed + turn, options.repetitions)
    return 0 if sound else 1


def _options(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.emulator.campaign", description=__doc__)
    parser.add_argument("--demo", action="append", choices=DEMOS, help="one demo job; both when left out")
    parser.add_argument("--repetitions", type=int, default=20, help="strokes on every point in one round")
    parser.add_argument("--rounds", type=int, default=1, help="rounds, each from the next seed")
    parser.add_argument("--seed", type=int, default=1, help="seed of the first round")
    return parser.parse_args(arguments)


def _round(name: str, seed: int, repetitions: int) -> bool:
    console = demo(name)
    seen, verdict = perform(console, play_everything(console, Random(seed), repetitions))
    _say(f"{name}, seed {seed}: {verdict.changes} changes, {verdict.messages} messages, {_effort(seen)}")
    timed = perform(console, clean_strokes(console, Random(seed), last_points(console.plan), 10 * repetitions))[1]
    _say_latencies(console, timed)
    for each in (verdict, timed):
        if not each.sound:
            _say(each.report())
    _say("\n".join(f"problem: {words} ({count} times)" for words, count in seen.problems.items()))
    return verdict.sound and timed.sound and not seen.problems


def _effort(seen: Seen) -> str:
    speed = seen.cycles / seen.wall_ms / 1000
    return f"{seen.events_applied} edges, {seen.cycles / 16e6:.0f} s at {speed:.0f} million cycles a second"


def _say_latencies(console: Console, verdict: Verdict) -> None:
    for group in console.plan.groups:
        if found := verdict.latencies.get(group.id):
            press, release = max(found.press_us, default=0), max(found.release_us, default=0)
            _say(
                f"  {group.id}: worst press {press:.0f} of {group.press_latency_us_max:.0f} µs predicted, "
                f"release {release:.0f} of {group.release_latency_us_max:.0f} µs"
            )


def _say(text: str) -> None:
    if text:
        sys.stdout.write(f"{text}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    sys.exit(main())
