"""The make-safe record as a job file holds it."""

from __future__ import annotations

from datetime import date

import pytest

from retrofit.survey.job import Job
from retrofit.survey.load import parse_job
from retrofit.survey.make_safe import EarthRelation, MakeSafe, SafeStep, SupplyKind
from retrofit.survey.problems import JobFileError

JOB = """
format = 1
[instrument]
name = "invented"
[[divisions]]
id = "great"
[[groups]]
id = "great"
kind = "manual"
division = "great"
compass = { lowest = 36, count = 2 }
"""


def _job(record: str) -> Job:
    return parse_job(JOB + record, "test.toml")


def test_what_was_not_written_is_unknown() -> None:
    """A job without the table has nothing made safe and no typical answer in its place."""
    record = _job("").make_safe
    assert record == MakeSafe()
    assert record.chassis_to_earth is EarthRelation.UNKNOWN
    assert record.supply_kind is SupplyKind.UNKNOWN
    assert not record.earth_reading.known
    assert record.missing_steps == tuple(SafeStep)


def test_a_record_is_read_as_it_was_written() -> None:
    """Relation, raw reading, kind of supply and signed step all arrive."""
    record = _job(
        '[make_safe]\nchassis_to_earth = "apart"\nearth_reading = "4,7 M"\nsupply_kind = "isolated"\n'
        'ticks = [{ step = "proved-dead", date = 2026-01-31, initials = "AB", remark = "twice" }]\n'
    ).make_safe
    assert record.chassis_to_earth is EarthRelation.APART
    assert record.earth_reading.raw == "4,7 M"
    assert record.earth_reading.value == pytest.approx(4.7e6)
    assert [(t.step, t.date, t.initials, t.remark) for t in record.ticks] == [
        (SafeStep.PROVED_DEAD, date(2026, 1, 31), "AB", "twice")
    ]
    assert SafeStep.PROVED_DEAD not in record.missing_steps
    assert len(record.missing_steps) == len(SafeStep) - 1


@pytest.mark.parametrize(
    ("record", "said"),
    [
        ('chassis_to_earth = "jointed"', "'joined'"),
        ('supply_kind = "isolatd"', "'isolated'"),
        ('earth_reading = "-3"', "0 Ω or more"),
        ('ticks = [{ step = "mains-unpluged", date = 2026-01-31, initials = "AB" }]', "'mains-unplugged'"),
        ('ticks = [{ step = "proved-dead", date = "yesterday", initials = "AB" }]', "a date such as"),
        ('ticks = [{ step = "proved-dead", initials = "AB" }]', "date"),
        ('ticks = [{ step = "proved-dead", date = 2026-01-31 }]', "initials"),
        ('ticks = [{ step = "proved-dead", date = 2026-01-31, initials = "" }]', "initials"),
        ('ticks = [{ step = "proved-dead", date = 2026-01-31, initials = "   " }]', "whoever took the step"),
        ("earthed = true", "earthed"),
    ],
)
def test_a_wrong_record_is_said(record: str, said: str) -> None:
    """A step without a date or a signature, and a word that is not known, are problems of the file, with the remedy."""
    with pytest.raises(JobFileError) as refused:
        _job(f"[make_safe]\n{record}\n")
    assert len(refused.value.problems) == 1
    assert said in str(refused.value)
    assert "test.toml:" in str(refused.value)
