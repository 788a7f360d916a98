"""Bounce, modelled and recorded."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from retrofit.rehearsal.bounce import Bounce, EvenBounce, RecordedBounce, TailedBounce, modelled
from retrofit.rehearsal.recorded import RecordingError, parse_recorded

STROKES = 20_000


def lengths_us(bounce: Bounce) -> np.ndarray:
    """Return the length of each stroke's burst."""
    found = bounce.bursts(STROKES, True, np.random.default_rng(3))
    lengths = np.zeros(STROKES)
    np.maximum.at(lengths, found.stroke, found.after_ns / 1000)
    assert (np.bincount(found.stroke, minlength=STROKES) % 2 == 0).all()
    return lengths


def test_even_lengths_are_even() -> None:
    """Lengths follow scipy's uniform distribution (Kolmogorov-Smirnov), and every burst has an even number of edges."""
    assert stats.kstest(lengths_us(EvenBounce(5_000)), "uniform", (0, 5_000)).pvalue > 1e-4


def test_tailed_lengths_are_exponential() -> None:
    """Lengths follow scipy's exponential distribution of the stated mean."""
    bounce = TailedBounce(4_000, 20)
    assert stats.kstest(lengths_us(bounce), "expon", (0, bounce.mean_us)).pvalue > 1e-4


def test_the_worst_of_so_many_is_on_average_the_measured_one() -> None:
    """The mean greatest of 20 simulated lengths is the worst that was measured over 20 strokes, within 2 %."""
    groups_of_20 = lengths_us(TailedBounce(4_000, 20)).reshape(-1, 20)
    assert groups_of_20.max(axis=1).mean() == pytest.approx(4_000, rel=0.02)


def test_recorded_bursts_come_back_as_they_were() -> None:
    """Each stroke gets one of the recorded bursts, edge for edge, and each of them about equally often."""
    recorded = RecordedBounce(closing_us=((), (100.0, 250.0), (10.0, 20.0, 30.0, 40.0)))
    found = recorded.bursts(STROKES, True, np.random.default_rng(3))
    count = np.bincount(found.stroke, minlength=STROKES)
    assert set(found.after_ns[count[found.stroke] == 2].tolist()) == {100_000, 250_000}
    assert stats.chisquare([(count == edges).sum() for edges in (0, 2, 4)]).pvalue > 1e-4
    assert len(recorded.bursts(STROKES, False, np.random.default_rng(3)).stroke) == 0


def test_what_is_known_decides_the_model() -> None:
    """A measured worst goes before the kind's longest; an unknown number of strokes is taken as one; unknown stays."""
    assert modelled(4_000, 20, 5_000) == TailedBounce(4_000, 20)
    assert modelled(4_000, None, None) == TailedBounce(4_000, 1)
    assert modelled(None, None, 5_000) == EvenBounce(5_000)
    assert modelled(None, None, None) is None


@pytest.mark.parametrize(("burst", "words"), [((1.0,), "even number"), ((5.0, 2.0), "out of order")])
def test_an_impossible_burst_is_refused(burst: tuple[float, ...], words: str) -> None:
    """A burst leaves the contact as it found it, and its times rise."""
    with pytest.raises(ValueError, match=words):
        RecordedBounce(opening_us=(burst,))


def test_recordings_are_read() -> None:
    """Lines give strokes by group and way; remarks and empty lines are passed over."""
    text = "# measured by hand\n\ngreat,closing,0.4,0.9\n*, opening\ngreat,opening,0.1,0.2\n"
    found = parse_recorded(text, "x.csv", ["great"])
    assert found == {"great": RecordedBounce(((400.0, 900.0),), ((100.0, 200.0),)), "*": RecordedBounce((), ((),))}


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("great", "then closing or opening"),
        ("great,shutting,1,2", "then closing or opening"),
        ("swell,closing,1,2", "the group 'swell' found, allowed are great and *"),
        ("great,closing,1,x", "'x' found, allowed is a time"),
        ("great,closing,1,nan", "'nan' found"),
        ("great,closing,-1,2", "'-1' found"),
        ("great,closing,1", "even number"),
        ("great,closing,2,1", "out of order"),
    ],
)
def test_a_bad_line_is_named(line: str, words: str) -> None:
    """Every problem of a recording is said in one go, each with file and line."""
    with pytest.raises(RecordingError) as caught:
        parse_recorded(f"great,closing\n{line}\n{line}\n", "x.csv", ["great"])
    assert [problem.split(" ")[0] for problem in caught.value.problems] == ["x.csv:2", "x.csv:3"]
    assert words in caught.value.problems[0]


def test_an_empty_recording_is_refused() -> None:
    """A file without a stroke is an error, not silence."""
    with pytest.raises(RecordingError, match="no stroke found"):
        parse_recorded("# nothing\n", "x.csv", ["great"])
