"""What is expected of a plan's contacts: of one that is known to stay closed, nothing."""

from __future__ import annotations

from retrofit.catalogue.load import load_catalogue
from retrofit.cli.prove_chords import chords_of
from retrofit.plan.build import plan_conversion
from retrofit.plan.matrix_chords import group_chords
from retrofit.plan.model import ConversionPlan
from retrofit.proving.expected import expected_of
from retrofit.proving.runs.results import Verdict, result_of
from retrofit.proving.runs.run import ProvingRun
from retrofit.proving.runs.steps import StepKind, steps_of
from retrofit.survey.load import parse_job
from tests.proving.plans import JOB
from tests.proving.runs.players import SHORT, keys, played, slow

MATRIX = """
format = 1

[instrument]
name = "Invented for tests"
invented = true

[[divisions]]
id = "great"
channel = 2

[[groups]]
kind = "manual"
id = "great"
division = "great"
compass = { count = 25 }
points = [{ note = 40, condition = "ciphering" }]
wiring = { owner = "us", diodes = "silicon" }
wanted = { interface = "matrix", matrix_columns = 8 }
"""


def plan_of(text: str) -> ConversionPlan:
    """Return the plan of a job."""
    return plan_conversion(parse_job(text, "closed.toml"), load_catalogue())


def test_a_contact_known_to_stay_closed_is_excused_and_never_asked_for() -> None:
    """The others are played, and the division has passed."""
    expected = expected_of(plan_of(JOB.replace('"dead"', '"ciphering"')))
    steps = [step for step in steps_of(expected, "great") if step.kind in (StepKind.RUN, StepKind.ASKED)]
    run = ProvingRun(expected, steps, (), SHORT)
    said = played(run, slow(keys(), 1_000_000))
    result = result_of(run, "great")
    excused = next(point for point in result.points if point.verdict is Verdict.EXCUSED)
    assert (excused.point, excused.remark) == ("great.38", "known to stay closed")
    assert "great D2 (38)" not in said.text
    assert result.complete
    assert not result.failed


def test_a_contact_known_to_stay_closed_is_in_no_chord() -> None:
    """The board mutes it: no chord can be held with it, and no ghost of it is heard."""
    plan = plan_of(MATRIX)
    (tests,) = chords_of(plan, "great").values()
    assert tests
    for test in tests:
        assert "great.40" not in test.points
        assert all("great.40" not in ghosts for ghosts in test.ghosts)


def test_the_same_key_takes_part_in_chords_once_it_is_freed() -> None:
    """Without the mute it is held like any other: what leaves it out is its condition alone."""
    found = group_chords(plan_of(MATRIX), load_catalogue(), "great")
    assert any(40 in chord.keys for chord in (*found.tests.chords, *(t.chord for t in found.tests.by_three_keys)))
