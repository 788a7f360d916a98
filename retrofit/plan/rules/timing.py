"""Rules about sampling, debounce and latency."""

from __future__ import annotations

from collections.abc import Iterator

from retrofit.plan.facts import Facts
from retrofit.plan.model import Severity
from retrofit.plan.rules.rule import Rule, Said
from retrofit.survey.contacts import KeyGroup

LATENCY_ACCEPTABLE_US = 10_000
"""Players rate 10 ms no worse than none (Jack, Mehrabi, Stockman, McPherson, Music Perception 36(1) 109, 2018)."""
LATENCY_GOOD_US = 5_000
"""Half of that, left for the sound module (common practice, no source)."""


def _too_slow(facts: Facts) -> Iterator[Said]:
    if facts.board is not None and facts.tick_us is None:
        yield Said(
            "groups",
            f"one scan takes {facts.busy_us / 1000:.2f} ms",
            "at most 1 ms, half of the longest sampling period",
            "shorten the cable so that the chain may be clocked faster, or spread the console over two boards",
        )


def _latency(facts: Facts) -> Iterator[Said]:
    for plan in facts.groups:
        if isinstance(facts.group(plan.id), KeyGroup) and plan.press_latency_us_max > LATENCY_ACCEPTABLE_US:
            yield Said(
                f"groups.{plan.id}",
                f"a key may take {plan.press_latency_us_max / 1000:.1f} ms until its message has ended",
                f"{LATENCY_ACCEPTABLE_US // 1000} ms; {LATENCY_GOOD_US // 1000} ms is good",
                "wish for a shorter press, or clean the contacts so that the first edge can be believed",
            )


def _debounce(facts: Facts) -> Iterator[Said]:
    for group_id, chosen in facts.debounce.items():
        for problem in chosen.problems:
            yield Said(f"groups.{group_id}.wanted.debounce", problem.found, problem.allowed, problem.remedy)


RULES = (
    Rule(
        "scan-too-slow",
        "No sampling period is long enough",
        Severity.ERROR,
        "the time of one scan with half the longest sampling period",
        _too_slow,
        locked=True,
        why=(
            "Sampling takes at most half of the time, so that messages and shoes still get theirs; a longer "
            "period would make keys late."
        ),
        remedy="shorten the cable so that the chain may be clocked faster, or use two boards",
    ),
    Rule(
        "key-too-late",
        "A key's message comes late",
        Severity.WARNING,
        "worst press latency",
        _latency,
        why="Players rate 10 ms no worse than none and longer delays worse, and the sound module adds its own.",
        remedy="clean the contacts so that a shorter debounce will do, or wish for one",
    ),
    Rule(
        "debounce-does-not-fit",
        "A debounce does not fit its contacts or the firmware",
        Severity.WARNING,
        "debounce wished or chosen with bounce, counts and quick repeats",
        _debounce,
        why="Too short a debounce lets bounce through as repeated notes; too long a one swallows quick repeats.",
        remedy="measure the bounce, and wish for what lies between",
    ),
)
