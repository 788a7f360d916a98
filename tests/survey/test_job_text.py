"""The canonical text of a job: it reads back as the same job, whatever is in it, and plans the same."""

from __future__ import annotations

import tomllib
from importlib.resources import files

import pytest
from hypothesis import given, settings

from retrofit.survey.job import Job
from retrofit.survey.job_text import job_text, without_remarks
from retrofit.survey.load import parse_job
from tests.plan.random_jobs import jobs

DEMOS = ("gutted_home.toml", "theatre.toml")


def demo(name: str) -> Job:
    """Return a demo job."""
    return parse_job(files("retrofit.demo").joinpath(name).read_text(encoding="utf-8"), name)


@pytest.mark.parametrize("name", DEMOS)
def test_a_demo_reads_back_equal(name: str) -> None:
    """The text is TOML to the standard library, a sound job file, and the same job."""
    job = demo(name)
    text = job_text(job)
    assert tomllib.loads(text)["format"] == 1
    assert parse_job(text, name) == job


@settings(deadline=None)
@given(jobs())
def test_any_job_reads_back_equal(job: Job) -> None:
    """Names of any characters, recorded addresses with dots in their keys, dates: all come back."""
    keys = {"great.36": "chain 0 register 1 bit 2", 'a "quoted" key': "\n\u202e\\"}
    assert Job.model_validate(tomllib.loads(job_text(job))) == job
    recorded = job.model_copy(update={"addresses": keys})
    assert Job.model_validate(tomllib.loads(job_text(recorded))) == recorded


def test_the_text_is_the_same_however_the_file_was_written() -> None:
    """Comments, order of keys and defaults that were spelt out leave no trace."""
    plain = 'format = 1\ninstrument = { name = "x" }\ndivisions = [{ id = "a" }]\n'
    group = '[[groups]]\nid = "k"\nkind = "manual"\ndivision = "a"\ncompass = { count = 3 }\n'
    spelt = '# first\n[[groups]]\ncompass = { count = 3, lowest = "C2" }\nkind = "manual"\nid = "k"\ndivision = "a"\n'
    assert job_text(parse_job(plain + group, "one")) == job_text(parse_job(plain + spelt, "other"))


def test_without_remarks_only_remarks_are_missing() -> None:
    """Dated notes and remarks go; readings keep theirs, because a locked record must stay what was locked."""
    job = demo("theatre.toml")
    bare = without_remarks(job)
    assert "notes" not in job_text(bare)
    assert "notes" in job_text(job)
    assert [group.wiring for group in bare.groups] == [group.wiring for group in job.groups]
    assert bare.make_safe.ticks[0].remark == ""
    assert bare.make_safe.ticks[0].initials == job.make_safe.ticks[0].initials
