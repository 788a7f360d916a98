"""What a board keeps of its job: it plans the same digest, address for address and message for message."""

from __future__ import annotations

from importlib.resources import files

import pytest
from hypothesis import given, settings

from retrofit.catalogue.load import load_catalogue
from retrofit.firmware.description import DESCRIPTION_BYTES_MAX, job_revision, packed_description
from retrofit.firmware.rows import TableError
from retrofit.plan.as_built import job_as_built, stored_text
from retrofit.plan.build import plan_conversion
from retrofit.plan.model import ConversionPlan
from retrofit.survey.instrument import StoredDescription
from retrofit.survey.job import Job
from retrofit.survey.load import parse_job
from retrofit.survey.packed_text import unpack_text
from tests.plan.random_jobs import jobs

DEMOS = ("gutted_home.toml", "theatre.toml")


def planned(job: Job) -> ConversionPlan:
    """Return the plan of a job."""
    return plan_conversion(job, load_catalogue())


def demo(name: str) -> Job:
    """Return a demo job."""
    return parse_job(files("retrofit.demo").joinpath(name).read_text(encoding="utf-8"), name)


def keeping(job: Job, stored: StoredDescription) -> Job:
    """Return the job with another wish about what its board keeps."""
    return job.model_copy(update={"wanted": job.wanted.model_copy(update={"stored_description": stored})})


@pytest.mark.parametrize("stored", [StoredDescription.WHOLE, StoredDescription.WITHOUT_REMARKS])
@pytest.mark.parametrize("name", DEMOS)
def test_the_description_of_a_demo_plans_the_same_digest(name: str, stored: StoredDescription) -> None:
    """Read back from its packed bytes, each demo is a sound file with the digest of the plan that was built."""
    plan = planned(keeping(demo(name), stored))
    back = planned(parse_job(unpack_text(packed_description(plan)), name))
    assert back.digest == plan.digest
    assert back.moves == ()
    assert back.message_changes == ()


@settings(deadline=None, max_examples=40)
@given(jobs())
def test_any_job_as_built_plans_the_same_digest(job: Job) -> None:
    """With its addresses and messages recorded, a random job is planned as before."""
    plan = planned(job)
    back = planned(parse_job(stored_text(plan.job, plan.points), "job.toml"))
    assert back.digest == plan.digest
    assert [(p.point.id, p.address, p.message, p.shoe) for p in back.points] == [
        (p.point.id, p.address, p.message, p.shoe) for p in plan.points
    ]


def test_the_wish_decides_what_is_kept_and_not_what_the_board_does() -> None:
    """All three wishes give one digest; without remarks less is kept, and with none nothing."""
    plans = {stored: planned(keeping(demo("theatre.toml"), stored)) for stored in StoredDescription}
    assert len({plan.digest for plan in plans.values()}) == 1
    sizes = {stored: len(packed_description(plan)) for stored, plan in plans.items()}
    assert sizes[StoredDescription.WHOLE] > sizes[StoredDescription.WITHOUT_REMARKS] > 0
    assert sizes[StoredDescription.NONE] == 0


def test_the_revision_changes_with_a_remark_and_the_digest_does_not() -> None:
    """A note added later gives another revision of the same plan."""
    job = demo("gutted_home.toml")
    instrument = job.instrument.model_copy(update={"notes": ()})
    plan, later = planned(job), planned(job.model_copy(update={"instrument": instrument}))
    assert plan.digest == later.digest
    assert job_revision(plan) != job_revision(later)
    assert job_revision(plan) == job_revision(planned(job_as_built(job, plan.points)))


def test_a_description_that_the_table_cannot_hold_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """More bytes than the table holds are refused with the wish that makes them fewer."""
    monkeypatch.setattr("retrofit.firmware.description.pack_text", lambda _: bytes(DESCRIPTION_BYTES_MAX + 1))
    with pytest.raises(TableError, match="stored_description"):
        packed_description(planned(demo("gutted_home.toml")))
