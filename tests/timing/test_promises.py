"""The figures of a debounce: the worked cases to their digits, and the sample model at every phase and lateness."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.survey.wishes import DebounceFamily
from retrofit.timing.debounce import Debounce
from retrofit.timing.guarantees import Sampling
from retrofit.timing.human import KEY_UP, REPEATED_NOTE, TRILL, repetition_words
from retrofit.timing.promises import promises
from retrofit.timing.samples import Counted, FirstEdge
from retrofit.timing.trace import Sampler, events
from retrofit.timing.wire import BYTE_US

FIRST_EDGE, CONSECUTIVE, ASYMMETRIC = DebounceFamily.FIRST_EDGE, DebounceFamily.CONSECUTIVE, DebounceFamily.ASYMMETRIC
EACH_MS = Sampling(1000.0)
DEBOUNCES = st.one_of(
    st.builds(Debounce, st.just(FIRST_EDGE), hold=st.integers(1, 8)),
    st.builds(Debounce, st.just(ASYMMETRIC), press=st.integers(1, 5), release=st.integers(1, 8)),
)


def model(debounce: Debounce) -> Sampler:
    """Return the sample model of a debounce."""
    if debounce.family is FIRST_EDGE:
        return FirstEdge(debounce.hold)
    return Counted(debounce.press, debounce.release)


def test_d1_first_edge() -> None:
    """D1: T 1 ms, hold 8: on within 1 ms, 1.96 ms with the message; 62.5 strokes a second; a tap is 8 ms late."""
    found = promises(Debounce(FIRST_EDGE, hold=8), EACH_MS)
    assert found.press.clean_us_max + 3 * BYTE_US == 1_960
    assert (found.certain_per_s, found.merged_per_s) == (62.5, 62.5)
    assert found.fails_when[-1] == "the release of a tap may come 8 ms late"


def test_d2_bounce_that_is_covered() -> None:
    """D2: a hold-off of 5 covers 5 ms and not the bounce of 10 ms; one of 10 does, 11 has a sample in hand."""
    covered = [promises(Debounce(FIRST_EDGE, hold=hold), EACH_MS).covered_us for hold in (5, 10, 11)]
    assert covered == [5_000, 10_000, 11_000]


def test_d3_five_in_a_row() -> None:
    """D3: clean latency 5 ms, 11 ms with a bounce of 6 ms; below 4 ms never heard, from 5 ms always."""
    press = promises(Debounce(CONSECUTIVE, press=5, release=5), EACH_MS, bounce_us=6_000).press
    assert (press.clean_us_max, press.bounced_us_max) == (5_000, 11_000)
    assert (press.never_us, press.always_us) == (4_000, 5_000)


def test_d5_short_press_and_long_release() -> None:
    """D5: on within 2 ms, off within 12 ms, 14 ms or 71 strokes a second; dropouts below 11 ms break no note."""
    found = promises(Debounce(ASYMMETRIC, press=2, release=12), EACH_MS)
    assert (found.press.clean_us_max, found.release.clean_us_max) == (2_000, 12_000)
    assert (round(found.certain_per_s), found.release.never_us) == (71, 11_000)


@pytest.mark.parametrize(("period_us", "latency_us"), [(270.0, 1_350), (2_040.0, 10_200)])
def test_d7_one_count_for_all_is_never_right(period_us: float, latency_us: float) -> None:
    """D7: five in a row are 1.35 ms on manuals scanned every 0.27 ms and 10.2 ms on stops scanned every 2.04 ms."""
    found = promises(Debounce(CONSECUTIVE, press=5, release=5), Sampling(period_us))
    assert found.press.clean_us_max == pytest.approx(latency_us)


def test_gaps_of_a_supply_are_said() -> None:
    """D6: the release of a line with gaps of 12.52 ms wanders by as much; without gaps nothing is said of it."""
    debounce = Debounce(ASYMMETRIC, press=1, release=14)
    assert promises(debounce, EACH_MS, gap_us=12_520).fails_when[-1] == (
        "the supply's gaps move the release by up to 12.52 ms"
    )
    assert not any("gaps" in words for words in promises(debounce, EACH_MS).fails_when)


def test_unknown_bounce_stays_unknown() -> None:
    """Without a bounce there is no latency with bounce."""
    found = promises(Debounce(FIRST_EDGE, hold=8), EACH_MS)
    assert (found.press.bounced_us_max, found.release.bounced_us_max) == (None, None)


@settings(max_examples=300, deadline=None)
@given(
    debounce=DEBOUNCES,
    gaps=st.lists(st.integers(1, 1_500), max_size=8),
    late=st.lists(st.integers(0, 300), min_size=60, max_size=60),
    phase=st.integers(0, 999),
)
def test_no_press_is_later_than_promised(debounce: Debounce, gaps: list[int], late: list[int], phase: int) -> None:
    """With any burst up to its length B, phase and lateness J, the first on comes by B + n T + J after the touch."""
    edges = [5_000 + sum(gaps[:i]) for i in range(len(gaps) // 2 * 2 + 1)]
    times = [phase + 1_000 * i + late[i] for i in range(60)]
    first_on = next(time for time, on in events(model(debounce), edges, times) if on)
    bounced = promises(debounce, Sampling(1_000, 300), bounce_us=edges[-1] - edges[0]).press.bounced_us_max
    assert bounced is not None
    assert first_on - edges[0] <= bounced


@settings(max_examples=300, deadline=None)
@given(
    debounce=DEBOUNCES,
    burst=st.lists(st.floats(0, 1), max_size=8),
    late=st.lists(st.integers(0, 300), min_size=60, max_size=60),
    phase=st.integers(0, 999),
)
def test_covered_bounce_strikes_once(debounce: Debounce, burst: list[float], late: list[int], phase: int) -> None:
    """Any burst within the span that is covered gives exactly one on and no off."""
    covered = promises(debounce, Sampling(1_000, 300)).covered_us
    further = sorted(int(share * max(0.0, covered - 1)) for share in burst[: len(burst) // 2 * 2])
    edges = [5_000, *(5_000 + time for time in further)]
    times = [phase + 1_000 * i + late[i] for i in range(60)]
    assert [on for _, on in events(model(debounce), edges, times)] == [True]


@pytest.mark.parametrize(
    ("certain", "up_us", "words"),
    [
        (62.5, 8_000, "are all heard"),
        (14.0, 20_000, "are all heard"),
        (20.0, 25_000, "up for less than 25 ms"),
        (10.0, 25_000, "quicker than 10 a second may merge; a trill is heard"),
        (7.0, 70_000, "not even a trill"),
    ],
)
def test_repetition_in_words(certain: float, up_us: float, words: str) -> None:
    """Fastest repeats 10 to 14 a second, up for 20 to 30 ms, trills 12 to 15 (common practice, no source)."""
    assert words in repetition_words(certain, up_us)
    assert [limit.status for limit in (REPEATED_NOTE, KEY_UP, TRILL)] == ["common practice, no source"] * 3
