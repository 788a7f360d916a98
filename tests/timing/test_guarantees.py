"""The promised sentences: their wording for known cases, and their numbers against the model."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.survey.points import PointKind
from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from retrofit.timing.guarantees import guarantee_sentences, strokes_a_second
from retrofit.timing.samples import Counted, FirstEdge
from retrofit.timing.trace import Sampler, events

FIRST_EDGE, CONSECUTIVE, ASYMMETRIC = DebounceFamily.FIRST_EDGE, DebounceFamily.CONSECUTIVE, DebounceFamily.ASYMMETRIC
COUNTS = st.integers(1, 9)
PERIODS = st.sampled_from([125, 250, 500, 1000, 2000])
JITTERS = st.integers(0, 100)
LATENESS = st.lists(st.floats(0, 1), min_size=16, max_size=16)


def figures_us(sentence: str) -> list[float]:
    """Return the times that a sentence names, in microseconds."""
    return [1000 * float(number) for number in re.findall(r"([\d.]+) ms", sentence)]


def sampled(debounce: Sampler, edges: list[float], period: int, jitter: int, late: list[float]) -> list[bool]:
    """Return the new states that a contact gives when each sample is taken up to `jitter` late."""
    return [state for _, state in timed(debounce, edges, period, jitter, late)]


def timed(
    debounce: Sampler, edges: list[float], period: int, jitter: int, late: list[float]
) -> list[tuple[float, bool]]:
    """Return times and new states."""
    count = int(edges[-1] / period) + 100
    return events(debounce, edges, [i * period + jitter * late[i % len(late)] for i in range(count)])


def test_short_press_and_long_release_in_words() -> None:
    """D5: press 2 and release 12 at 1 ms, in sentences; 14 ms is 71.43 strokes a second, rounded up to a tenth."""
    assert guarantee_sentences(PointKind.KEY, Debounce(ASYMMETRIC, press=2, release=12), 1000) == (
        "A closure shorter than 1 ms is never heard; one of 2 ms or more always is.",
        "A break shorter than 11 ms is never heard; one of 12 ms or more always is.",
        "Every stroke that is down for 2 ms and up for 12 ms is heard; "
        "more than 71.5 strokes a second of one key are merged.",
    )


def test_first_edge_in_words() -> None:
    """D1: hold 8 at 1 ms, in sentences; 16 ms is 62.5 strokes a second."""
    assert guarantee_sentences(PointKind.KEY, Debounce(FIRST_EDGE, hold=8), 1000) == (
        "A change is believed at the first sample that shows it, within 1 ms.",
        "Two messages of one key are never closer than 8 ms, so bounce up to that long is never heard.",
        "A spike of any length that meets a sample sends on, and off not before 8 ms; "
        "so does a quick tap, whose end may be reported up to 8 ms late.",
        "Every stroke that is down for 8 ms and up for 8 ms is heard; "
        "more than 62.5 strokes a second of one key are merged.",
    )


def test_a_single_sample_is_said_to_believe_spikes() -> None:
    """With one sample for on and for off nothing is too short, and the sentences say so."""
    closures, breaks, _ = guarantee_sentences(PointKind.STOP, Debounce(CONSECUTIVE, press=1, release=1), 500)
    assert closures == "A spike of any length that meets a sample sends on, and off not before 0.5 ms."
    assert breaks == "A break of any length that meets a sample sends off."


def test_figures_are_rounded_to_the_safe_side() -> None:
    """With 30 µs of jitter what is never heard gets shorter and what is always heard longer."""
    closures, *_ = guarantee_sentences(PointKind.PISTON, Debounce(CONSECUTIVE, press=4, release=4), 125, 30.4)
    assert figures_us(closures) == [344, 531]


def test_a_shoe_has_nothing_to_promise() -> None:
    """Asking for a shoe's guarantees is refused."""
    with pytest.raises(ValueError, match="converter"):
        guarantee_sentences(PointKind.SHOE, Debounce(CONSECUTIVE), 1000)


@settings(max_examples=150, deadline=None)
@given(press=st.integers(2, 9), release=st.integers(2, 9), period=PERIODS, jitter=JITTERS, late=LATENESS, at=LATENESS)
def test_sentences_of_counts_hold(
    press: int, release: int, period: int, jitter: int, late: list[float], at: list[float]
) -> None:
    """What is never heard is not heard and what always is, is, each sample late by its own share of the jitter."""
    debounce = Debounce(ASYMMETRIC, press=press, release=release)
    closures, breaks, strokes = guarantee_sentences(PointKind.KEY, debounce, period, jitter)
    start = (5 + at[0]) * period
    held = start + (100 + at[1]) * period
    (never, always), (unbroken, broken) = figures_us(closures), figures_us(breaks)
    down, up = figures_us(strokes)
    train = [start + i // 2 * (down + up) + i % 2 * down for i in range(12)]

    def states(edges: list[float]) -> list[bool]:
        return sampled(Counted(press, release), edges, period, jitter, late)

    assert states([start, start + never - 1]) == []
    assert states([start, start + always]) == [True, False]
    assert states([start, held, held + unbroken - 1]) == [True]
    assert states([start, held, held + broken]) == [True, False, True]
    assert states(train) == [True, False] * 6


@settings(max_examples=150, deadline=None)
@given(hold=COUNTS, period=PERIODS, jitter=JITTERS, late=LATENESS, at=LATENESS)
def test_sentences_of_first_edge_hold(hold: int, period: int, jitter: int, late: list[float], at: list[float]) -> None:
    """Heard within the first figure, never closer than the second, and strokes as quick as promised are all heard."""
    first, apart, tap, strokes = guarantee_sentences(PointKind.KEY, Debounce(FIRST_EDGE, hold=hold), period, jitter)
    start = (5 + at[0]) * period
    down, up = figures_us(strokes)
    train = [start + i // 2 * (down + up) + i % 2 * down for i in range(12)]
    found = timed(FirstEdge(hold), train, period, jitter, late)
    assert [state for _, state in found] == [True, False] * 6
    assert all(time - edge <= figures_us(first)[0] for edge, (time, _) in zip(train, found, strict=True))
    quick = timed(FirstEdge(hold), [start, start + period + jitter], period, jitter, late)
    assert [state for _, state in quick] == [True, False]
    assert all(later - sooner >= figures_us(apart)[0] - 1e-6 for (sooner, _), (later, _) in pairwise(quick))
    assert quick[1][0] - (start + period + jitter) <= figures_us(tap)[1]


@settings(max_examples=60, deadline=None)
@given(press=COUNTS, release=COUNTS, period=PERIODS)
def test_strokes_above_the_rate_are_merged(press: int, release: int, period: int) -> None:
    """A train of strokes a little quicker than the last figure loses some of them."""
    rate = strokes_a_second((press + release) * period)
    stroke = 1_000_000 / rate * 0.99
    edges = [5000 + i // 2 * stroke + i % 2 * stroke * press / (press + release) for i in range(2000)]
    assert len(sampled(Counted(press, release), edges, period, 0, [0.0])) < len(edges)
