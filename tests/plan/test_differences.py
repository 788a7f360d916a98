"""What differs between two plans: nothing exactly when their digests are equal, and otherwise it is named."""

from __future__ import annotations

from importlib.resources import files

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.catalogue.load import load_catalogue
from retrofit.plan.build import plan_conversion
from retrofit.plan.differences import Difference, plan_differences
from retrofit.plan.model import ConversionPlan
from retrofit.survey.job import Job
from retrofit.survey.load import parse_job
from tests.plan.random_jobs import jobs

DEMO = files("retrofit.demo").joinpath("gutted_home.toml").read_text(encoding="utf-8")


def planned(text: str) -> ConversionPlan:
    """Return the plan of a job file's text."""
    return plan_conversion(parse_job(text, "job.toml"), load_catalogue())


def _second(job: Job, other: Job, part: str) -> Job:
    """Return the job with one part of another."""
    return job.model_copy(update={part: getattr(other, part)})


@settings(deadline=None, max_examples=60)
@given(jobs(), jobs(), st.sampled_from(["groups", "instrument", "originals", "same_lines", "wanted"]))
def test_there_are_differences_exactly_when_the_digests_differ(job: Job, other: Job, part: str) -> None:
    """Whatever of a job is changed, the comparison and the digest agree on whether the board would do another thing."""
    first, second = (plan_conversion(one, load_catalogue()) for one in (job, _second(job, other, part)))
    assert (first.digest == second.digest) == (plan_differences(first, second) == ())


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("channel = 1\n", "channel = 9\n", "upper.36: sends: note 36 on channel 1 / 90 24 64 / 90 24 00, "),
        ('name = "Two-manual home console (demo, invented)"', 'name = "Another"', "instrument: name: Two-manual"),
    ],
)
def test_a_change_is_named_in_the_words_of_the_job(old: str, new: str, expected: str) -> None:
    """A channel shows as messages of its points, a name as a name."""
    first, second = planned(DEMO), planned(DEMO.replace(old, new, 1))
    said = [f"{one.subject}: {one.what}: {one.first}, {one.second}" for one in plan_differences(first, second)]
    assert any(line.startswith(expected) for line in said), said[:3]


def test_a_point_that_only_one_side_has_is_one_difference() -> None:
    """A stop that was added is said once, and not fact by fact."""
    lines = DEMO.splitlines(keepends=True)
    stop = next(
        number for number, line in enumerate(lines) if line.lstrip().startswith('{ id = "') and "footage" in line
    )
    name = lines[stop].split('id = "')[1].split('"')[0]
    fewer = "".join(lines[:stop] + lines[stop + 1 :])
    found = plan_differences(planned(DEMO), planned(fewer))
    assert Difference(f"tabs.{name}", "all of it", "there", "not there") in found
    assert sum(one.subject == f"tabs.{name}" for one in found) == 1
