"""The integrator on the emulated chip, sample for sample the Python model, and what it costs in cycles."""

from __future__ import annotations

import random
from bisect import bisect_right
from functools import cache

import pytest

from retrofit.timing.samples import Integrator
from tests.emulator.build import Image
from tests.emulator.harness import Chain, Event, Scenario, Seen, cycles, run
from tests.emulator.midi_stream import decode
from tests.emulator.table_image import image_of
from tests.firmware.table_text import CHAIN, COUNTED, INTEGRATOR, NOTES, ConsoleTable, note
from tests.firmware.test_on_the_chip import scan_us

pytestmark = pytest.mark.emulator

LEADS = ((8, 8), (1, 1), (2, 12), (31, 4), (63, 63))
TICK = cycles(ms=1)
START = cycles(ms=300)
SAMPLES = 600
"""Of each contact, one after another, so that the wire is idle when a change is reported."""
SCAN_BEGINS = 0xFF


def one_register_each(family: int) -> ConsoleTable:
    """Return a table with one register for each pair of LEADS, active high, sampled every millisecond."""
    lanes = len(LEADS)
    return ConsoleTable(
        runs=[(CHAIN, 0, lane, 1, lane, lane) for lane in range(lanes)],
        groups=[(family, press, release, 1, 0, 0, NOTES, 0, 0, 0) for press, release in LEADS],
        lanes=[(0xFF, 0)] * lanes,
        messages=[note(lane, 36 + bit) for lane in range(lanes) for bit in range(8)],
        channels=range(lanes),
        sizes={"REGISTER_COUNT": lanes, "COUNTER_PLANES": 6, "TICK_US": 1000, "POWER_ON_TICKS": 10},
    )


@cache
def image(family: int = INTEGRATOR) -> Image:
    """Return the image of `one_register_each`."""
    return image_of(one_register_each(family))


def drifting(seed: int) -> list[bool]:
    """Return samples whose share of closed ones changes from stretch to stretch."""
    chance = random.Random(seed)
    shares = [chance.choice((0.0, 0.1, 0.35, 0.5, 0.65, 0.9, 1.0)) for _ in range(SAMPLES // 50)]
    return [chance.random() < share for share in shares for _ in range(50)]


def played(levels: dict[int, list[bool]]) -> tuple[Seen, list[Event]]:
    """Play a contact of each lane, one lane after another, levels changing in the middle of a tick."""
    events: list[Event] = []
    for turn, (lane, samples) in enumerate(levels.items()):
        begin = START + turn * (SAMPLES + 100) * TICK + TICK // 2
        moves = [(begin + number * TICK, "chain", lane, lane % 8, int(on)) for number, on in enumerate(samples)]
        events += [*moves, (begin + SAMPLES * TICK, "chain", lane, lane % 8, 0)]
    chain = Chain(len(LEADS), initial=(0,) * len(LEADS))
    until = START + len(levels) * (SAMPLES + 100) * TICK
    return run(Scenario(image().hex, until, chain, events=tuple(events), keep_marks=True)), events


def expected(lane: int, events: list[Event], begins: list[int]) -> list[tuple[int, bool]]:
    """Return number of scan and new state of each change that the model reports of a lane's contact."""
    mine = [event for event in events if event[2] == lane]
    times, levels = [event[0] for event in mine], [False, *(bool(event[4]) for event in mine)]
    model = Integrator(*LEADS[lane])
    samples = ((scan, model.sample(levels[bisect_right(times, begin)])) for scan, begin in enumerate(begins))
    return [(scan, state) for scan, state in samples if state is not None]


def test_every_change_comes_from_the_sample_of_the_model() -> None:
    """Thousands of samples of chatter: each note leaves in the tick of the very sample at which the model reports."""
    seen, events = played({lane: drifting(lane) for lane in range(len(LEADS))})
    begins = [cycle for cycle, value in seen.marks if value == SCAN_BEGINS]
    messages = [message for message in decode(seen.midi).messages if message.begins >= START]
    total = 0
    for lane in range(len(LEADS)):
        heard = [
            (bisect_right(begins, message.begins) - 1, message.data[0] & 0xF0 == 0x90)
            for message in messages
            if message.data[0] & 0x0F == lane
        ]
        assert heard == expected(lane, events, begins)
        total += len(heard)
    assert total == len(messages) > 100


def busiest_us(family: int) -> float:
    """Return the longest scan while the contacts of three lanes change at every sample and none is reported."""
    moves: list[Event] = [
        (START + step * TICK + TICK // 2, "chain", lane, bit, step % 2)
        for step in range(1, 21)
        for lane in (2, 3, 4)
        for bit in range(8)
    ]
    chain = Chain(len(LEADS), initial=(0,) * len(LEADS))
    until = START + 20 * TICK
    seen = run(Scenario(image(family).hex, until, chain, events=tuple(sorted(moves)), keep_marks=True))
    return max(scan_us(seen, START + 2 * TICK))


def test_a_lane_that_leads_costs_little_more_than_one_that_counts() -> None:
    """While eight contacts of a lane chatter, its look costs at most a quarter more than in the counted family."""
    chain = Chain(len(LEADS), initial=(0,) * len(LEADS))
    quiet = max(scan_us(run(Scenario(image().hex, START + 20 * TICK, chain, keep_marks=True)), START))
    leading, counting = busiest_us(INTEGRATOR) - quiet, busiest_us(COUNTED) - quiet
    assert 0 < counting < leading <= 1.25 * counting
