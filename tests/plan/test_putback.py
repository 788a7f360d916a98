"""The ledger and the putback: nothing is fitted that does not come off, and nothing comes off that others need."""

from __future__ import annotations

from importlib.resources import files

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from retrofit.plan.ledger import ledger
from retrofit.plan.operations import NOT_TAKEN, Operation
from retrofit.plan.putback import calls_for_putback, put_back, rehearsal_names
from retrofit.survey.job import Job
from retrofit.survey.load import parse_job
from retrofit.survey.operations import NEVER_UNDONE, OperationKind
from retrofit.survey.points import Point, list_points
from tests.plan.jobs import CUT, DIVIDER, FIRING, GREAT, HEAD, ORGANS, OURS, PRESERVED, job_of, keys, plan_of, stops
from tests.plan.random_jobs import DIVISIONS, jobs

quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
DEMOS = {
    name: parse_job(files("retrofit.demo").joinpath(f"{name}.toml").read_text(encoding="utf-8"), name)
    for name in ("theatre", "gutted_home")
}
THEATRE = DEMOS["theatre"]


def organ_lines(job: Job) -> set[str]:
    """Return the points at whose tag a wire of the organ is touched, found from the survey alone."""
    tapped = {g.id for g in job.groups if g.wiring.owner != "us" and g.wanted.sense != "sensor"}
    points = list_points(job)
    shared = {line.points[0]: line.points[1:] for line in job.same_lines}
    by_id = {point.id: point for point in points}
    twins = {twin for others in shared.values() for twin in others}
    with_stages = {point.stage_of for point in points}

    def there(point: Point) -> bool:
        return any(by_id[name].takes_part for name in (point.id, *shared.get(point.id, ())))

    return {
        point.id
        for point in points
        if point.group in tapped and point.id not in twins and point.id not in with_stages and there(point)
    }


def check_taps(job: Job) -> None:
    """Hold taps, removal steps and proofs of a job against its survey."""
    expected = organ_lines(job)
    taps = {step.subject: step for step in ledger(job) if step.kind is OperationKind.TAP_LINE}
    removed = [step.operation for step in put_back(job).steps if step.operation.kind is OperationKind.TAP_LINE]
    assert set(taps) == expected
    assert sorted(step.subject for step in removed) == sorted(expected)
    wiring = {group.id: group.wiring for group in job.groups}
    for step in removed:
        read = wiring[step.subject.partition(".")[0]]
        halves = [str(read.idle.volts) != "unknown", str(read.keyed.volts) != "unknown"]
        assert step.undo is not None
        assert step.proof.states == 2
        assert step.proof.known is all(halves)
        assert (NOT_TAKEN in step.proof.words) is not all(halves)


@quick
@given(jobs())
def test_every_tap_has_one_removal_and_one_proof(job: Job) -> None:
    """Each line that is not ours is tapped once, taken off once, and compared with a reading or an honest unknown."""
    check_taps(job)


@pytest.mark.parametrize("name", DEMOS)
def test_the_demos_have_one_removal_and_one_proof_for_every_tap(name: str) -> None:
    """The same for both demo jobs."""
    check_taps(DEMOS[name])


def take_all_out(job: Job) -> list[Operation]:
    """Fit everything, take it out by the putback, and return what is left; nothing is taken out from under another."""
    fitted = list(ledger(job))
    for step in put_back(job).steps:
        assert step.operation in fitted
        fitted.remove(step.operation)
        _nothing_hangs_in_the_air(step.operation, fitted)
    return fitted


def _nothing_hangs_in_the_air(removed: Operation, fitted: list[Operation]) -> None:
    kinds = {step.kind for step in fitted if set(step.divisions) & set(removed.divisions) and step.written is None}
    match removed.kind:
        case _ if removed.written is not None:
            return
        case OperationKind.MOUNT_BOARD:
            assert not kinds & {OperationKind.RUN_CABLE, OperationKind.TAP_LINE, OperationKind.FIT_SUPPLY}
        case OperationKind.RUN_CABLE:
            assert not kinds & {OperationKind.TAP_LINE, OperationKind.WIRE_CONTACT, OperationKind.FIT_SUPPLY}
        case OperationKind.TAP_LINE | OperationKind.WIRE_CONTACT:
            assert not kinds & {OperationKind.FIT_SUPPLY, OperationKind.PLUG_MIDI}


@quick
@given(jobs(preserved=True))
def test_nothing_is_left_in_an_organ_that_is_preserved(job: Job) -> None:
    """After the whole putback nothing is fitted any more."""
    assert take_all_out(job) == []


@quick
@given(jobs())
def test_what_is_left_is_what_cannot_be_undone(job: Job) -> None:
    """Whatever the job, only cuts, holes, changed values and steps without an inverse remain, and they are listed."""
    left = take_all_out(job)
    assert left == list(put_back(job).for_good)
    assert all(step.kind in NEVER_UNDONE or step.written is not None for step in left)


@pytest.mark.parametrize("name", DEMOS)
def test_the_demos_come_out_whole(name: str) -> None:
    """Both demo jobs leave nothing behind."""
    assert take_all_out(DEMOS[name]) == []


def check_part(job: Job, division: str) -> None:
    """Hold the putback of one division against the steps that it alone needs."""
    whole = {step.id: step for step in ledger(job)}
    part = put_back(job, [division])
    out = {step.operation.id for step in part.steps} | {step.id for step in part.for_good}
    assert out == {name for name, step in whole.items() if set(step.divisions) == {division}}
    assert {step.id for step in part.staying} == {
        name for name, step in whole.items() if division in step.divisions and len(step.divisions) > 1
    }
    points = {point.id: point for point in list_points(job)}
    for name in out:
        subject = points.get(whole[name].subject)
        assert subject is None or subject.division == division or not subject.takes_part


@quick
@given(jobs(), st.sampled_from(DIVISIONS))
def test_a_part_is_what_one_division_alone_needs(job: Job, division: str) -> None:
    """Taking out a division removes exactly its own steps; what another division needs too stays, and is listed."""
    check_part(job, division)


@pytest.mark.parametrize("name", DEMOS)
def test_each_division_of_the_demos_comes_out_alone(name: str) -> None:
    """The same for every division of both demo jobs."""
    for division in DEMOS[name].divisions:
        check_part(DEMOS[name], division.id)


def test_the_parts_of_the_theatre_console() -> None:
    """The Great has its cable and 61 taps of its own; the second touch comes out of a manual that stays."""
    great = put_back(THEATRE, ["great"])
    assert len(great.steps) == 62
    assert {step.id for step in great.staying} == {
        "back-panel-off",
        "mount-board.controller",
        "mount-board.inside-the-back-on-the-upper-rail",
        "fit-supply.own",
        "plug-midi.lead",
    }
    second = put_back(THEATRE, ["second-touch"])
    assert len(second.steps) == 62
    assert all(step.operation.id.endswith(("second", "second-touch")) for step in second.steps)
    both = {step.operation.id for step in put_back(THEATRE, ["accompaniment", "great", "solo", "second-touch"]).steps}
    assert "mount-board.inside-the-back-on-the-upper-rail" in both


def test_all_divisions_together_are_everything() -> None:
    """Asking for every division is asking for the whole."""
    every = put_back(THEATRE, [division.id for division in THEATRE.divisions])
    assert every.steps == put_back(THEATRE).steps


@quick
@given(jobs())
def test_ids_of_steps_are_unique_and_none_is_a_divisions(job: Job) -> None:
    """A rehearsal names one thing."""
    names = [step.id for step in ledger(job)]
    assert len(set(names)) == len(names)
    assert not set(names) & set(DIVISIONS)
    assert set(rehearsal_names(job)) <= set(names) | set(DIVISIONS)


def test_a_line_shared_by_two_divisions_stays_until_both_are_out() -> None:
    """A stud on a piston's line would fall silent with it, so that the tap serves both divisions."""
    text = PRESERVED + GREAT + '[[divisions]]\nid = "pedal"\n' + keys() + ORGANS + DIVIDER
    text += stops('{ id = "a" }').replace('division = "great"', 'division = "pedal"') + ORGANS + DIVIDER
    job = job_of(text + '[[same_lines]]\npoints = ["great.36", "rail.a"]\n')
    tap = next(step for step in ledger(job) if step.id == "tap-line.great.36")
    assert tap.divisions == ("great", "pedal")
    assert tap.remark == "also carries rail.a"
    staying = put_back(job, ["great"]).staying
    assert tap in staying
    assert next(step for step in staying if step.id == "run-cable.great").divisions == ("great", "pedal")


def test_a_line_is_tapped_for_whoever_shares_it() -> None:
    """The point that is wired may be left out itself: its line is tapped as long as another point is read from it."""
    text = PRESERVED + GREAT + stops('{ id = "a", condition = "left-out" }, { id = "b" }') + ORGANS
    shared = job_of(text + '[[same_lines]]\npoints = ["rail.a", "rail.b"]\n')
    assert organ_lines(shared) == {"rail.a"}
    check_taps(shared)
    check_taps(job_of(text))


def test_a_lines_own_readings_come_before_the_typical_ones() -> None:
    """The proof of a line is its own first reading with the meter alone, by id or by a tag that only it has."""
    readings = """
[[groups.wiring.readings]]
line = "great.37"
state = "idle"
volts = "0,3 V"
date = 2026-03-09
initials = "QT"
[[groups.wiring.readings]]
line = "great.37"
state = "idle"
volts = "0,2 V"
date = 2026-03-07
initials = "QT"
[[groups.wiring.readings]]
line = "great.37"
state = "idle"
load = "1M"
volts = "0,0 V"
date = 2026-03-01
initials = "QT"
[[groups.wiring.readings]]
line = "7"
state = "keyed"
volts = "11,9"
date = 2026-03-07
initials = "QT"
"""
    tags = 'points = [{ note = 38, tag = "7" }, { note = 39, tag = "8" }, { note = 40, tag = "8" }]'
    job = job_of(PRESERVED + GREAT + keys(extra=tags) + ORGANS + readings)
    proofs = {step.subject: step.proof for step in ledger(job) if step.kind is OperationKind.TAP_LINE}
    assert proofs["great.36"].words == "idle 0,0 V, keyed 12,4 V (read on a typical line of the group)"
    assert proofs["great.36"].typical
    assert proofs["great.37"].words == f"idle 0,2 V, keyed {NOT_TAKEN} (read on this line)"
    assert not proofs["great.37"].known
    assert proofs["great.38"].words == f"idle {NOT_TAKEN}, keyed 11,9 V (read on this line)"
    assert proofs["great.39"].typical


def test_a_reading_of_an_ambiguous_tag_proves_nothing() -> None:
    """Two points with one tag: nobody knows which of them was read."""
    reading = (
        '[[groups.wiring.readings]]\nline = "8"\nstate = "idle"\nvolts = "5 V"\ndate = 2026-03-07\ninitials = "QT"\n'
    )
    tags = 'points = [{ note = 39, tag = "8" }, { note = 40, tag = "8" }]'
    job = job_of(PRESERVED + GREAT + keys(extra=tags) + ORGANS + reading)
    assert all(step.proof.typical for step in ledger(job) if step.kind is OperationKind.TAP_LINE)


def test_taps_are_grouped_by_strip() -> None:
    """Lines of one strip stand together, those whose strip was not written down last."""
    points = 'points = [{ note = 37, strip = "B" }, { note = 38, strip = "A" }, { note = 40, strip = "B" }]'
    job = job_of(PRESERVED + GREAT + keys(6, extra=points) + ORGANS)
    strips = [step.strip for step in ledger(job) if step.kind is OperationKind.TAP_LINE]
    assert strips == ["B", "B", "A", "", "", ""]


HAND = CUT.replace("cut-wire", "remove-part").replace("cut the feed of the bus", "took the back rail off")


@pytest.mark.parametrize(
    ("text", "firing"),
    [
        (HAND, False),
        (HAND.replace("join it again", " "), True),
        (CUT, True),
        (CUT.replace("cut-wire", "drill-hole"), True),
        (CUT.replace("cut-wire", "change-value"), True),
        (CUT.replace("cut-wire", "split-bus"), True),
    ],
)
@pytest.mark.parametrize("subject", ["great", "great.36", "console"])
def test_a_job_that_preserves_has_no_step_without_an_inverse(text: str, firing: bool, subject: str) -> None:
    """Whoever does not write an inverse, or cuts, drills, splits or re-values whatever he writes, is told."""
    text = text.replace('subject = "great"', f'subject = "{subject}"')
    plan = plan_of(PRESERVED + GREAT + keys() + ORGANS + DIVIDER + text)
    said = [finding.subject for finding in plan.errors if finding.rule == "step-cannot-be-undone"]
    assert said == (["operations.feed-cut"] if firing else [])


def test_the_same_cut_is_allowed_where_nothing_is_preserved() -> None:
    """In a gutted console a cut is no finding; the putback lists it as done for good."""
    plan = plan_of(HEAD + GREAT + keys() + OURS + CUT)
    assert plan.findings == ()
    assert [step.id for step in put_back(plan.job).for_good] == ["feed-cut"]


def test_a_bus_that_a_matrix_would_split_has_no_inverse() -> None:
    """The step that a matrix implies on a long bus is found too, beside the rule about the bus itself."""
    rules = {finding.rule for finding in plan_of(FIRING["bus-would-be-cut"]).errors}
    assert rules == {"bus-would-be-cut", "step-cannot-be-undone"}


def test_a_rehearsal_is_of_a_step_or_of_its_only_division() -> None:
    """The later of both counts; what several divisions need was not rehearsed with one of them."""
    rehearsals = (
        '[rehearsals]\ngreat = { date = 2026-03-08, initials = "QT" }\n'
        '"tap-line.great.36" = { date = 2026-03-09, initials = "RB" }\n'
        '"tap-line.great.37" = { date = 2026-03-01, initials = "RB" }\n'
    )
    text = PRESERVED + GREAT + '[[divisions]]\nid = "pedal"\n' + keys() + ORGANS
    text += stops('{ id = "a" }').replace('division = "great"', 'division = "pedal"') + ORGANS
    steps = {step.operation.id: step.rehearsed for step in put_back(job_of(text + rehearsals)).steps}
    initials = {name: rehearsal.initials if rehearsal else None for name, rehearsal in steps.items()}
    assert initials["tap-line.great.36"] == "RB"
    assert initials["tap-line.great.37"] == "QT"
    assert initials["run-cable.great"] == "QT"
    assert initials["plug-midi.lead"] is None
    assert initials["tap-line.rail.a"] is None


def test_sensors_at_the_keys_touch_no_line() -> None:
    """Where sensors are wanted nothing of the organ is tapped, and there is nothing to read when they come off."""
    steps = ledger(job_of(PRESERVED + GREAT + keys() + ORGANS + DIVIDER.replace("divider", "sensor")))
    assert {step.kind for step in steps} & {OperationKind.TAP_LINE, OperationKind.FIT_SENSOR} == {
        OperationKind.FIT_SENSOR
    }
    assert all(step.proof.states == 0 for step in steps)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        (HEAD + GREAT + keys() + OURS, False),
        (PRESERVED + GREAT + keys() + OURS, True),
        (HEAD + GREAT + keys() + ORGANS, True),
        (HEAD + GREAT + keys(), True),
    ],
)
def test_a_putback_is_called_for_where_anything_is_kept(text: str, wanted: bool) -> None:
    """A gutted console needs none; one that is preserved, or whose lines may be the organ's, does."""
    assert calls_for_putback(job_of(text)) is wanted
