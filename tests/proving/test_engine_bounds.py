"""The live engine on long and hostile input: what is kept is bounded, what is counted is not."""

from __future__ import annotations

import random

from retrofit.proving.engine import HELD_KEPT, Engine
from retrofit.proving.segments import PRESSES_KEPT
from retrofit.proving.strays import STRAYS_KEPT
from retrofit.proving.tally import COMPANIONS_KEPT, ON_TIMES_KEPT, PERIODS_KEPT
from tests.proving.playing import MS, heard, key, manuals, stutter


def test_presses_that_nobody_asks_for_are_forgotten_and_counted() -> None:
    """The newest are kept; how many were forgotten is told, and no stroke is missing from the counts."""
    strokes = PRESSES_KEPT + 100
    engine = heard([m for n in range(strokes) for m in key(1, 60, n * 200 * MS, 50 * MS)])
    assert engine.presses_forgotten == 100
    assert engine.contacts[manuals().notes[b"\x90\x3c"]].strokes == strokes
    presses = engine.strokes(strokes * 200 * MS)
    assert len(presses) == PRESSES_KEPT
    assert presses[0].heard[0].on_us == 100 * 200 * MS


def test_reports_of_held_contacts_are_bounded_and_each_is_kept_once() -> None:
    """A sender that repeats the report for ever fills no memory."""
    engine = Engine(manuals())
    reports = [bytes((0xF0, 0x7D, 1, n >> 7, n & 127, 0xF7)) for n in range(4000)]
    engine.feed((0, report) for report in reports + reports)
    assert engine.held_at_start == list(range(HELD_KEPT))
    assert engine.others == {0xF0: 8000}


def test_a_flood_of_anything_is_counted_and_fills_no_memory() -> None:
    """Of 40,000 random messages within two seconds every one is counted, and every list keeps to its bound."""
    rng = random.Random(5)
    engine, time_us = Engine(manuals()), 0
    for _ in range(40):
        batch = []
        for _ in range(1000):
            time_us += 50
            status = rng.choice([0x90, 0x91, 0x92, 0x80, rng.randrange(0x80, 0xF0), 0xF8])
            length = 1 if status >= 0xF0 else 2 if status & 0xE0 == 0xC0 else 3
            batch.append((time_us, bytes((status, *(rng.randrange(128) for _ in range(length - 1))))))
        engine.feed(batch)
    counted = engine.contact_messages + engine.shoe_messages + engine.stray_messages + engine.other_messages
    assert engine.messages == counted == 40_000
    assert len(engine.strays) == STRAYS_KEPT
    assert max(len(tally.companions) for tally in engine.contacts) <= COMPANIONS_KEPT
    assert all(tally.accompanied <= tally.strokes for tally in engine.contacts)
    assert all(n <= tally.strokes for tally in engine.contacts for n in tally.companions.values())


def test_chatter_without_end_keeps_the_newest_times_and_counts_all() -> None:
    """A contact that chatters for ever has all its retriggers counted, and the newest times kept."""
    engine = heard(stutter(1, 60, 0, [10 * MS] * 3000))
    tally = engine.contacts[manuals().notes[b"\x90\x3c"]]
    assert (tally.strokes, tally.retriggers, tally.chattered) == (1, 3000, 1)
    assert list(tally.periods) == [10 * MS] * PERIODS_KEPT


def test_the_lengths_of_the_newest_strokes_are_kept() -> None:
    """Older lengths make room for newer ones."""
    engine = heard([m for n in range(300) for m in key(1, 60, n * 1000 * MS, (n + 100) * MS)])
    tally = engine.contacts[manuals().notes[b"\x90\x3c"]]
    assert list(tally.on_times) == [n * MS for n in range(400 - ON_TIMES_KEPT, 400)]
    assert (tally.shortest_on_us, tally.longest_on_us) == (100 * MS, 399 * MS)
