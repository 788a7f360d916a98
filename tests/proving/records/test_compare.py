"""Two visits compared, and readings before and after with their limits."""

from __future__ import annotations

import pytest

from retrofit.proving.records.compare import compared, readings_compared
from retrofit.proving.records.rows import ReadingRow
from tests.proving.records.rows import point


def said(before: int, after: int) -> list[str]:
    """Return what is said of a change of bounces."""
    return [change.said for change in compared([point("c", before)], [point("c", after)]).changes]


def test_a_contact_that_bounces_more_is_named_with_both_figures() -> None:
    """From 2 to 9 bounces is worth a cleaning."""
    (change,) = compared([point("c", 2)], [point("c", 9)]).changes
    assert change.said == "the c went from 2 to 9 bounces (1 and 1 strokes)"
    assert change.worse


def test_fewer_bounces_are_better() -> None:
    """A cleaned contact is told too, as better."""
    (change,) = compared([point("c", 9)], [point("c", 2)]).changes
    assert not change.worse


def test_differences_within_the_limits_are_not_spoken_of_and_the_limits_are_stated() -> None:
    """Two bounces more are none; three are; the limits stand beside."""
    assert said(2, 4) == []
    assert said(2, 5) != []
    assert "up to 2 bounces" in compared([], []).limits[0]


def test_the_longest_bounce_is_compared_as_well() -> None:
    """More than 2 ms longer is told."""
    assert compared([point("c", 1, 1000)], [point("c", 1, 3000)]).changes == ()
    (change,) = compared([point("c", 1, 1000)], [point("c", 1, 3001)]).changes
    assert "from 1.0 to 3.0 ms" in change.said


def test_what_failed_and_passes_now_is_told_and_what_was_not_tried_is_not_compared() -> None:
    """Silence says nothing of a contact."""
    (change,) = compared([point("c", verdict="passed")], [point("c", verdict="failed")]).changes
    assert change.worse
    assert (
        compared([point("c", verdict="passed", strokes=0)], [point("c", 9, verdict="not tried", strokes=0)]).changes
        == ()
    )


def test_points_of_one_visit_alone_are_listed() -> None:
    """Added or removed points are not passed over in silence."""
    assert compared([point("a"), point("b")], [point("b"), point("c")]).unmatched == ("a", "c")


@pytest.mark.parametrize(
    ("what", "unit", "before", "after", "passes"),
    [
        ("supply", "V", 12.00, 12.12, True),
        ("supply", "V", 12.00, 12.13, False),
        ("supply", "V", 12.00, 11.87, False),
        ("decay", "ms", 200.0, 210.0, True),
        ("decay", "ms", 200.0, 189.9, False),
        ("hum", "mV", 1.0, 1.412, True),
        ("hum", "mV", 1.0, 1.413, False),
        ("hum", "mV", 1.0, 0.2, True),
    ],
)
def test_limits_of_as_found_against_after(what: str, unit: str, before: float, after: float, passes: bool) -> None:
    """Supply 1 %, decay 5 %, hum 3 dB, at both sides of the limit; 20 log10(1.4125) = 3.0 dB, worked by hand."""
    then, now = (ReadingRow(what, "rail", when, value, unit) for when, value in (("before", before), ("after", after)))
    (change,) = readings_compared([then], [now])
    assert change.passes is passes


def test_a_reading_taken_once_is_not_judged() -> None:
    """What was not read before is not guessed."""
    assert readings_compared([], [ReadingRow("supply", "rail", "after", 12.0, "V")]) == ()
