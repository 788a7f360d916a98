"""Prints how much faster than real time the stand-in plays 300 points: `python -m tests.rehearsal.bench_standin`."""

from __future__ import annotations

import time
from random import Random

from retrofit.catalogue.load import load_catalogue
from retrofit.rehearsal.standin.console import StandIn
from retrofit.rehearsal.standin.manners import QUICK
from retrofit.rehearsal.standin.player import Player, control_points
from retrofit.rehearsal.standin.stand_ins import Setup, stand_in
from tests.rehearsal.standin.consoles import CONTROLS, HEAD, keys, plan_of

SECONDS = 600
FAULTS = ((), ("hum great 100",), ("short diode swell C4", "loose wire great E3"))


def console_text() -> str:
    """Return 300 points: two manuals of 61, one of them on a matrix, a pedalboard, 126 stops and more."""
    stops = ", ".join(f'{{ id = "s{n}" }}' for n in range(126))
    controls = CONTROLS.replace('points = [{ id = "flute"', f'points = [{stops}, {{ id = "flute"', 1)
    controls = controls.replace("first_number = 20", "first_number = 0").replace(
        'message = "controller"', 'message = "note"'
    )
    manuals = keys("great", 61) + keys("swell", 61, "matrix", diodes="schottky") + keys("pedal", 32)
    return HEAD % "" + manuals + controls


def play(console: StandIn) -> int:
    """Fill the time with quick playing on all keyboards, changes of stops and a shoe; return the strokes."""
    plan, random = plan_of(console_text()), Random(1)
    player = Player(random, QUICK)
    strokes = 0
    for group in ("great", "swell", "pedal"):
        points = control_points(plan, group)
        for second in range(1, SECONDS - 16, 15):
            moves = player.run([random.choice(points) for _ in range(90)], second * 1_000_000)
            strokes += len(moves) // 2
            console.do(moves)
    for second in range(1, SECONDS - 10, 10):
        console.do(
            player.change(random.sample(control_points(plan, "stops"), 20), second * 1_000_000, on=second % 20 > 9)
        )
        console.do(player.sweep("shoes.swell", second * 1_000_000, 8))
    return strokes


def main() -> None:
    """Print seconds played, processor time taken and the ratio, for a sound console and for spoilt ones."""
    plan = plan_of(console_text())
    for faults in FAULTS:
        console = stand_in(plan, load_catalogue(), Setup(faults, seed=1, assumed_bounce_us=3000))
        strokes = play(console)
        began = time.process_time()
        heard = len(console.advance(SECONDS * 1_000_000))
        taken = time.process_time() - began
        print(  # noqa: T201  # what a bench prints is its result
            f"{len(plan.points)} points, {', '.join(faults) or 'sound'}: {SECONDS} s with {strokes} strokes and "
            f"{heard} messages in {taken:.2f} s of processor time: {SECONDS / taken:.0f} x real time"
        )


if __name__ == "__main__":
    main()
