"""Steps written down by hand, and rehearsals."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest

from retrofit.survey.load import load_job, parse_job
from retrofit.survey.operations import OperationKind, Rehearsal
from retrofit.survey.problems import JobFileError
from retrofit.survey.save import record_rehearsals
from tests.survey.places import GOOD

TEXT = GOOD.read_text(encoding="utf-8")
STEP = """
[[operations]]
id = "rail-off"
kind = "remove-part"
text = "took the back rail off"
date = 2026-03-07
initials = "QT"
"""


def problems_of(text: str) -> list[str]:
    """Return what is wrong with a job, as keys and kinds."""
    with pytest.raises(JobFileError) as caught:
        parse_job(text, "test.toml")
    return [f"{problem.key} {problem.kind.value}" for problem in caught.value.problems]


def test_what_nobody_wrote_is_unknown() -> None:
    """A step says what was done, when and by whom; the rest is unknown, and no inverse is invented."""
    (step,) = parse_job(TEXT + STEP, "test.toml").operations
    assert step.kind is OperationKind.REMOVE_PART
    assert (step.subject, step.inverse, step.minutes) == ("console", "", None)
    assert {step.tool, step.seen, step.reading, step.reason} == {"unknown"}


def test_every_step_with_a_fault_is_told_beside_every_other_fault() -> None:
    """A misspelt subject, an id used twice and blank initials come in one run, with a fault elsewhere."""
    text = TEXT + STEP + STEP.replace("text =", 'subject = "geat"\ntext =')
    text += STEP.replace("rail-off", "third").replace('"QT"', '" "')
    assert problems_of(text) == [
        "operations.rail-off duplicate-id",
        "operations.rail-off.subject unknown-subject",
        "operations.third.initials not-understood",
    ]


def test_a_step_about_a_faulty_group_is_not_accused() -> None:
    """Where a group has a fault of its own, nobody knows its points, and a step about one of them may be right."""
    text = TEXT.replace("count = 61", 'count = "many"', 1) + STEP.replace("text =", 'subject = "great.36"\ntext =')
    assert problems_of(text) == ["groups.great.compass.count wrong-type"]


def test_a_rehearsal_is_recorded_and_read_back(tmp_path: Path) -> None:
    """Names with dots are quoted, comments stay, and the last rehearsal of a name is kept."""
    path = tmp_path / "job.toml"
    path.write_text(TEXT, encoding="utf-8")
    record_rehearsals(path, ["tap-line.great.36", "great"], date(2026, 3, 7), "QT")
    record_rehearsals(path, ["great"], date(2026, 3, 9), "RB")
    after = path.read_text(encoding="utf-8")
    assert after.startswith(TEXT.rstrip("\n"))
    assert load_job(path).rehearsals == {
        "tap-line.great.36": Rehearsal(date=date(2026, 3, 7), initials="QT"),
        "great": Rehearsal(date=date(2026, 3, 9), initials="RB"),
    }
    assert set(tomllib.loads(after)["rehearsals"]) == {"tap-line.great.36", "great"}


@pytest.mark.parametrize(
    ("rehearsal", "problem"),
    [
        ("{ date = 2026-03-07 }", "rehearsals.great.initials missing-key"),
        ('{ date = 2026-03-07, initials = "QT", by = "RB" }', "rehearsals.great.by unknown-key"),
        ('{ date = "March", initials = "QT" }', "rehearsals.great.date wrong-type"),
        ("3", "rehearsals.great wrong-type"),
    ],
)
def test_half_of_a_rehearsal_is_none(rehearsal: str, problem: str) -> None:
    """A rehearsal has a date and initials, and nothing else."""
    assert problems_of(TEXT + f"[rehearsals]\ngreat = {rehearsal}\n") == [problem]
