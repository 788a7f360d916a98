"""Prints messages a second of our parser and live engine, beside mido's parser on the same bytes.

Run it as `python -m tests.proving.bench`.  Each figure is the best of several turns, because a busy machine only slows.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable

import mido

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.proving.engine import Engine
from retrofit.proving.expected import Expected, expected_of
from retrofit.proving.parser import MidiParser
from retrofit.survey.load import parse_job

MESSAGES = 100_000
BATCH = 500
TURNS = 3
_JOB = """
format = 1
[instrument]
name = "Invented for the bench"
invented = true
"""
_MANUAL = """
[[divisions]]
id = "m{n}"
channel = {n}
[[groups]]
kind = "manual"
id = "m{n}"
division = "m{n}"
compass = {{ count = 61 }}
wiring = {{ owner = "us" }}
"""


def bench_expected() -> Expected:
    """Return five manuals of 61 keys."""
    text = _JOB + "".join(_MANUAL.format(n=n) for n in range(1, 6))
    return expected_of(plan_conversion(parse_job(text, "bench.toml"), load_catalogue()))


def played(expected: Expected, apart_us: int) -> list[tuple[int, bytes]]:
    """Return keys pressed and released at random, one message every so many microseconds, up to ten held at a time."""
    rng, notes = random.Random(1), list(expected.notes)
    held: list[bytes] = []
    found: list[tuple[int, bytes]] = []
    for number in range(MESSAGES):
        if len(held) == 10 or (held and rng.random() < 0.5):
            found.append((number * apart_us, held.pop(rng.randrange(len(held))) + b"\0"))
        else:
            note = rng.choice([note for note in rng.sample(notes, 12) if note not in held])
            held.append(note)
            found.append((number * apart_us, note + b"\x40"))
    return found


def engine_alone(messages: list[tuple[int, bytes]], expected: Expected) -> None:
    """Feed the engine in batches, and take the presses away as a run does."""
    engine = Engine(expected)
    for start in range(0, len(messages), BATCH):
        engine.feed(messages[start : start + BATCH])
        engine.strokes(engine.now_us)


def parser_alone(stream: bytes) -> None:
    """Parse the bytes of a serial line."""
    parser = MidiParser()
    for start in range(0, len(stream), 3 * BATCH):
        parser.feed(stream[start : start + 3 * BATCH])


def mido_alone(stream: bytes) -> None:
    """Let mido parse the same bytes."""
    parser = mido.Parser()
    for start in range(0, len(stream), 3 * BATCH):
        parser.feed(stream[start : start + 3 * BATCH])
        for _ in parser:
            pass


def per_second(work: Callable[[], None]) -> float:
    """Return messages a second, best of the turns, by the time that this process itself has run."""
    taken = []
    for _ in range(TURNS):
        began = time.process_time()
        work()
        taken.append(time.process_time() - began)
    return MESSAGES / min(taken)


def main() -> None:
    """Print one line a subject."""
    expected = bench_expected()
    music, flood = played(expected, 20_000), played(expected, 50)
    stream = b"".join(message for _, message in music)
    subjects: dict[str, Callable[[], None]] = {
        "engine, 50 messages a second": lambda: engine_alone(music, expected),
        "engine, a flood of 20,000 a second": lambda: engine_alone(flood, expected),
        "our parser": lambda: parser_alone(stream),
        "mido's parser": lambda: mido_alone(stream),
    }
    for words, work in subjects.items():
        print(f"{words}: {per_second(work):,.0f} messages/s")  # noqa: T201  # what a bench prints is its result


if __name__ == "__main__":
    main()
