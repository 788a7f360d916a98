"""Recorded lines of points that are not there: which point the line is most likely of."""

from __future__ import annotations

import pytest

from retrofit.survey.load import parse_job
from retrofit.survey.problems import JobFileError

JOB = """
format = 1
[instrument]
name = "invented"
[[divisions]]
id = "great"
[[groups]]
id = "stops"
kind = "stops"
division = "great"
points = [{ id = "stop-one" }, { id = "stop-three" }, { id = "tremulant" }]
[[groups]]
id = "slip"
kind = "pistons"
division = "great"
points = [{ id = "stop-3" }]
"""


def _said(table: str, lines: str) -> str:
    with pytest.raises(JobFileError) as caught:
        parse_job(f"{JOB}[{table}]\n{lines}", "job.toml")
    (problem,) = caught.value.problems
    return str(problem)


@pytest.mark.parametrize(
    ("table", "entry"), [("addresses", "chain register 0 bit 2"), ("messages", "controller 20 on channel 1")]
)
def test_the_nearest_point_of_the_group_is_offered(table: str, entry: str) -> None:
    """A point whose id was rewritten is found again in its own group, though another group has the very word."""
    said = _said(table, f'"stops.stop-one" = "{entry}"\n"stops.stop-3" = "{entry}"\n')
    assert "which is no point" in said
    assert "rename the line to stops.stop-three, or delete the line" in said


def test_a_point_that_has_a_line_is_not_offered() -> None:
    """The nearest point with an address of its own is passed over."""
    said = _said("addresses", '"stops.stop-3" = "converter 0"\n"stops.stop-three" = "converter 1"\n')
    assert "stop-one" in said
    assert "rename the line to stops.stop-three" not in said


def test_the_only_point_left_of_a_group_is_offered_however_it_is_called() -> None:
    """Where one point of the group has no line, the stray line is most likely its own."""
    taken = '"stops.stop-one" = "converter 0"\n"stops.stop-three" = "converter 1"\n'
    assert "rename the line to stops.tremulant" in _said("addresses", taken + '"stops.8x" = "converter 2"\n')


def test_a_line_like_no_point_is_to_be_deleted() -> None:
    """Nothing is offered that is not near."""
    said = _said("addresses", '"zzzz.qq" = "converter 0"\n')
    assert "delete the line" in said
    assert "rename" not in said
