"""The guided reading without its screen."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from retrofit.plan.guided_reading import Signed
from retrofit.survey.contacts import Group
from retrofit.survey.job import Job
from retrofit.survey.load import load_job, parse_job
from retrofit.survey.make_safe import MakeSafe, SafeStep
from retrofit.survey.readings import Load, State
from retrofit.survey.save import edited_text
from tui.desk.bench import Bench, asked, draft_key, edit_of, group_of, label_of, lines_of, partly, unsafe

JOB = Path(__file__).parents[2] / "plan/awkward/positive_ground.toml"
BENCH = Bench(Signed("great", "great.36", date(2026, 3, 7), "QT"))


def opened() -> tuple[Job, Group]:
    """Return an invented job and its one group, of which nothing was read."""
    job = load_job(JOB)
    return job, job.groups[0]


def test_the_first_question_is_the_line_at_rest() -> None:
    """The meter alone, on both ranges, with what hands do for it."""
    now = asked(*opened(), BENCH)

    assert now.step is not None
    assert (now.step.state, now.step.load) == (State.IDLE, Load.METER)
    assert len(now.questions) == 2
    assert any("Touch red" in words for words in now.hands)
    assert not now.again


def test_a_skipped_step_is_not_asked_again() -> None:
    """The next one is; with both skipped nothing more is asked."""
    job, group = opened()
    first = asked(job, group, BENCH).step
    assert first is not None
    second = asked(job, group, BENCH.skipping(first)).step
    assert second is not None

    assert second.state is State.KEYED
    assert asked(job, group, BENCH.skipping(first).skipping(second)).step is None


def test_an_answer_becomes_an_edit_without_what_was_left_out() -> None:
    """An empty field is no reading of nothing: it is not in the file at all, and the step counts as partly done."""
    step = asked(*opened(), BENCH).step
    assert step is not None
    answers = {"volts": " 0,2 ", "ac_volts": ""}
    edit = edit_of(BENCH, step, answers)
    assert edit is not None
    reading = parse_job(edited_text(JOB.read_text("utf-8"), "job.toml", edit), "job.toml").groups[0].wiring.readings[0]

    assert (reading.volts.raw, reading.ac_volts.raw) == ("0,2", "unknown")
    assert partly(answers)
    assert label_of(BENCH, step, answers) == "reading of great.36 (idle, meter): 0,2"


def test_nothing_answered_is_no_edit() -> None:
    """Nor is half an answer about another line, which would be of no line at all."""
    job, group = opened()
    step = asked(job, group, BENCH).step
    assert step is not None

    assert edit_of(BENCH, step, {"volts": "", "ac_volts": "?"}) is None
    other = replace(step, state=None, load=None, key="other-line")
    assert edit_of(BENCH, other, {"line": "", "volts": "12"}) is None
    assert edit_of(BENCH, other, {"line": "great.49", "volts": "12"}) is not None


def test_drafts_of_different_questions_have_different_keys() -> None:
    """By group, line, step and field."""
    job, group = opened()
    now = asked(job, group, BENCH)
    assert now.step is not None
    keys = {draft_key(BENCH, now.step, question) for question in now.questions}
    other = replace(BENCH, signed=replace(BENCH.signed, line="great.37"))

    assert len(keys) == 2
    assert draft_key(other, now.step, now.questions[0]) not in keys


def test_lines_are_listed_with_their_readings() -> None:
    """Every point of the group, and before them those that are known by their tag alone."""
    job, group = opened()
    step = asked(job, group, BENCH).step
    assert step is not None
    by_tag = replace(BENCH, signed=replace(BENCH.signed, line="B 17"))
    edit = edit_of(by_tag, step, {"volts": "0"})
    assert edit is not None
    read = parse_job(edited_text(JOB.read_text("utf-8"), "job.toml", edit), "job.toml")
    rows = lines_of(read.groups[0])

    assert rows[0] == ("B 17", ("B 17", "by its tag", "1 read"))
    assert rows[1] == ("great.36", ("great.36", "C2", "not read"))
    assert len(rows) == 62


def test_a_group_that_is_gone_is_none() -> None:
    """Undo may take a whole group out while it is read."""
    job, group = opened()

    assert group_of(job, "great") == group
    assert group_of(job, "swell") is None


def test_every_step_of_making_safe_has_words() -> None:
    """Without a signature all of them are told, in the order in which they are taken."""
    job, _ = opened()

    assert unsafe(job) == ()
    assert len(unsafe(job.model_copy(update={"make_safe": MakeSafe()}))) == len(SafeStep)
