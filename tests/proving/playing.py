"""People who play an invented console of three manuals, as messages with their times."""

from __future__ import annotations

import random
from functools import cache

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.proving.engine import Engine
from retrofit.proving.expected import Expected, expected_of
from retrofit.survey.load import parse_job

MS = 1000
Message = tuple[int, bytes]
_HEAD = """
format = 1
[instrument]
name = "Invented for tests"
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
wanted = {{ debounce = {{ family = "first-edge", hold_ms = 3 }} }}
points = [{{ note = 40, condition = "dead" }}]
"""


@cache
def manuals() -> Expected:
    """Three manuals of 61 keys from note 36, on channels 1 to 3; each has a dead key at note 40."""
    job = parse_job(_HEAD + "".join(_MANUAL.format(n=n) for n in (1, 2, 3)), "manuals.toml")
    return expected_of(plan_conversion(job, load_catalogue()))


def key(manual: int, note: int, at_us: int, for_us: int) -> list[Message]:
    """One stroke."""
    status = 0x90 | manual - 1
    return [(at_us, bytes((status, note, 64))), (at_us + for_us, bytes((status, note, 0)))]


def stutter(manual: int, note: int, at_us: int, periods_us: list[int]) -> list[Message]:
    """A stroke that goes off for half of each period."""
    found, time_us = [], at_us
    for period_us in periods_us:
        found += key(manual, note, time_us, period_us // 2)
        time_us += period_us
    return [*found, *key(manual, note, time_us, 200 * MS)]


def heard(messages: list[Message], expected: Expected | None = None) -> Engine:
    """An engine that has heard messages, put in order."""
    engine = Engine(expected or manuals())
    engine.feed(sorted(messages, key=lambda message: message[0]))
    return engine


def run(manual: int, times: int, for_us: int = 300 * MS, start_us: int = 0) -> list[Message]:
    """Slow runs over a manual, one key a second, the dead key left out."""
    notes = [note for _ in range(times) for note in range(36, 97) if note != 40]
    return [m for n, note in enumerate(notes) for m in key(manual, note, start_us + n * 1000 * MS, for_us)]


def music(seed: int, strokes: int) -> list[Message]:
    """Somebody's playing: chords of up to ten keys, octaves, repeats, and now and then a key that stutters."""
    rng, time_us, found = random.Random(seed), 0, []
    free: dict[tuple[int, int], int] = {}
    for _ in range(strokes):
        manual, low = rng.choice([1, 1, 2, 3]), rng.randrange(41, 84)
        for note in {low, *rng.sample([low + 4, low + 7, low + 12], rng.choice([0, 1, 2, 3]))}:
            at_us = max(time_us + rng.randrange(25 * MS), free.get((manual, note), 0))
            length_us = rng.randrange(60 * MS, 900 * MS)
            fault = rng.random() < 0.01
            periods = [rng.randrange(4 * MS, 18 * MS) for _ in range(rng.randrange(1, 4))]
            found += stutter(manual, note, at_us, periods) if fault else key(manual, note, at_us, length_us)
            free[manual, note] = at_us + max(length_us, 300 * MS) + 30 * MS
        time_us += rng.randrange(50 * MS, 600 * MS)
    return found
