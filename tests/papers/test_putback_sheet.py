"""The putback sheet, as pages and as a spreadsheet, and the change notes from the same ledger."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from retrofit.papers.change_notes import change_notes_text, first_sentence
from retrofit.papers.csv_text import csv_records
from retrofit.papers.pages import LINES, WIDTH
from retrofit.papers.putback_sheet import putback_sheet_csv, putback_sheet_text
from retrofit.papers.text_cells import cells_of
from retrofit.plan.ledger import ledger
from retrofit.plan.model import ConversionPlan
from retrofit.plan.operations import NOT_TAKEN
from retrofit.plan.putback import put_back
from retrofit.survey.job import Job
from tests.plan.jobs import CUT, DIVIDER, GREAT, HEAD, ORGANS, OURS, PRESERVED, job_of, keys
from tests.plan.random_jobs import DIVISIONS, jobs
from tests.writer.plans import bench_plan

STEP = re.compile(r"\[ \] +(\d+) ")
THEATRE = files("retrofit.demo").joinpath("theatre.toml").read_text(encoding="utf-8")
quick = settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def planned(job: Job) -> ConversionPlan:
    """Return a plan that holds a job: the sheet needs no more of it than job, board and digest."""
    return bench_plan(job, points=(), groups=())


PLAN = planned(job_of(THEATRE))


@quick
@given(jobs(), st.lists(st.sampled_from(DIVISIONS), unique=True).map(tuple))
def test_both_forms_hold_every_step_in_order(job: Job, divisions: tuple[str, ...]) -> None:
    """Pages and spreadsheet have the steps of the putback, each once, in its order; both repeat byte for byte."""
    plan = planned(job)
    putback = put_back(job, divisions)
    text, sheet = putback_sheet_text(plan, divisions), putback_sheet_csv(plan, divisions)
    assert [int(number) for number in STEP.findall(text)] == [step.number for step in putback.steps]
    records = csv_records(sheet)
    expected = [step.operation for step in putback.steps] + list(putback.for_good)
    assert [record["operation"] for record in records] == [step.id for step in expected]
    assert [record["reading as found"] for record in records if record["step"]] == [
        step.operation.proof.words for step in putback.steps
    ]
    assert (text, sheet) == (putback_sheet_text(plan, divisions), putback_sheet_csv(plan, divisions))


@quick
@given(jobs())
def test_no_name_breaks_a_page(job: Job) -> None:
    """Whatever things are called, lines hold only what prints, fit 80 columns, and pages have 60 lines."""
    for text in (putback_sheet_text(planned(job)), change_notes_text(planned(job))):
        lines = text.split("\n")[:-1]
        assert all(line.isprintable() and cells_of(line) <= WIDTH for line in lines)
        count = -(-len(lines) // LINES)
        heads = [lines[start] for start in range(0, len(lines), LINES)]
        assert [head.rpartition("page ")[2] for head in heads] == [f"{n} of {count}" for n in range(1, count + 1)]


def test_a_tap_says_all_that_is_needed_at_the_console() -> None:
    """Tag, tool, what to take off, what must be seen, what must be read: in the row or in the heading above it."""
    text = putback_sheet_text(PLAN)
    block = text[text.index("STRIP K:") :].split("\n\n")[0]
    assert "take the spring hook off the tag; tool: by hand" in block
    assert "see:  tag bare and unbent, the organ's own wire in its place" in block
    assert "read: idle 0,0 V, keyed 13,4 V" in block
    assert re.search(r"\[ \] +\d+ 30 +General Cancel +_+ _+ _+ ___\n +\(pistons\.cancel\)", block)


def test_what_was_not_read_is_said_to_be_unknown() -> None:
    """A line without a reading is compared with an honest unknown, and the front page counts such steps."""
    plan = planned(job_of(PRESERVED + GREAT + keys(3) + '[groups.wiring]\nowner = "organ"\n' + DIVIDER))
    text = putback_sheet_text(plan)
    assert f"read: {NOT_TAKEN}" in text
    assert "not known in full: 3." in text
    assert [record["reading as found"] for record in csv_records(putback_sheet_csv(plan))].count(NOT_TAKEN) == 3


def test_a_part_says_what_it_is_and_what_stays() -> None:
    """The sheet of one division names it on every page, and lists what is left in and for whom."""
    text = putback_sheet_text(PLAN, ("great",))
    pages = text.count("PUTBACK SHEET, division great only")
    assert pages == text.count(f"of {pages}\n") == 3
    assert "These stay, because other divisions need them:" in text
    assert "  - mount-board.controller: controller board atmega2560, for accompaniment," in text
    assert "[ ]   62" in text
    assert "[ ]   63" not in text


def test_rehearsals_stand_on_the_sheet() -> None:
    """Date and initials of a rehearsal stand where the blanks are otherwise."""
    plan = planned(job_of(THEATRE + '\n[rehearsals]\n"tap-line.great.96" = { date = 2026-03-09, initials = "QT" }\n'))
    assert re.search(r"C7 \(great\.96\) +_{8} _{8} 2026-03-09 QT", putback_sheet_text(plan))
    records = {record["operation"]: record["rehearsed"] for record in csv_records(putback_sheet_csv(plan))}
    assert records["tap-line.great.96"] == "2026-03-09 QT"
    assert records["tap-line.great.95"] == ""


def test_what_cannot_be_undone_is_said() -> None:
    """A cut in a console that was taken over stands at the end of both forms, without a tick."""
    plan = planned(job_of(HEAD + GREAT + keys() + OURS + CUT))
    text = putback_sheet_text(plan)
    assert "THESE CANNOT BE UNDONE" in text
    assert "cut the feed of the bus 2026-03-07 QT" in text
    last = csv_records(putback_sheet_csv(plan))[-1]
    assert (last["step"], last["operation"]) == ("", "feed-cut")
    assert last["how it is undone"] == "cannot be undone: cut the feed of the bus"
    assert (last["remarks"], last["touches"]) == ("2026-03-07 QT", "great")


def test_the_spreadsheet_says_what_of_the_organ_each_step_touches() -> None:
    """A tap touches its tag, a cable of ours nothing; cells to be filled in at the console are blank."""
    records = {record["operation"]: record for record in csv_records(putback_sheet_csv(PLAN))}
    assert records["tap-line.great.60"]["touches"] == "tag 25 on strip B"
    assert records["tap-line.great.61"]["touches"] == "a tag that was not written down"
    assert records["run-cable.great"]["touches"] == "nothing of the organ"
    assert {record[blank] for record in records.values() for blank in ("done", "read idle", "read keyed")} == {""}


def test_the_end_reads_every_supply_again() -> None:
    """Supplies are compared with their volts as found, unknown ones as unknown."""
    text = " ".join(putback_sheet_text(PLAN).split())
    assert "keying supply, +12 V: as found 12,9 V at rest, 11,6 V with everything on; now" in text
    assert "as found unknown at rest, unknown with everything on" in text


def test_the_notes_begin_with_what_the_next_person_must_know() -> None:
    """A console that is only listened to plays on without the box, and may be unplugged."""
    lines = change_notes_text(PLAN).splitlines()
    assert lines[4] == "The organ plays on without this box; safe to unplug here."
    assert "The putback sheet is kept (write where): ____" in "\n".join(lines)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEAD + GREAT + keys() + OURS, "This console plays only through this box where it was taken over: great."),
        (HEAD + GREAT + keys() + ORGANS + CUT, "This box can be unplugged, but steps were taken that cannot be undone"),
        (PRESERVED + GREAT + keys() + ORGANS, "The organ plays on without this box; safe to unplug here."),
    ],
)
def test_the_notes_promise_no_more_than_is_so(text: str, words: str) -> None:
    """A console that was taken over, or cut, is not said to play on as if nothing had been done."""
    plan = planned(job_of(text))
    assert first_sentence(plan, ledger(plan.job)).startswith(words)
    assert words[:40] in change_notes_text(plan)


def test_the_notes_say_what_and_why_and_leave_the_date_blank() -> None:
    """Taps of one strip are one change; a step written by hand keeps its date, initials and reason."""
    hand = CUT.replace("cut-wire", "remove-part").replace("cut the feed of the bus", "took the rail off")
    plan = planned(job_of(THEATRE + hand + 'reason = "to reach the strips"\n'))
    text = change_notes_text(plan)
    words = " ".join(text.split())
    changed = " ".join(" ".join(line[20:55] for line in text.splitlines()).split())
    assert "pedal-tabs on strip T1: spring hook put on the tag (lines: 16); tags 1 to 16" in changed
    assert "great on strip B: spring hook put on the tag (lines: 3); tags 1, 25, 30" in changed
    assert "2026-03-07 QT took the rail off to reach the strips" in words
    assert "__________ ___ controller board atmega2560" in words
