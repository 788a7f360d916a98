"""What a diagnosis wants to hear next becomes steps of the same run."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from retrofit.proving.diagnosis.rig_of_plan import rig_of
from retrofit.proving.following import following
from retrofit.proving.runs.entries import Entry, EntryKind
from retrofit.proving.runs.notebook import Notebook
from retrofit.proving.runs.results import Verdict, result_of
from retrofit.proving.runs.run import ROUNDS_MOST, ProvingRun
from retrofit.proving.runs.says import Say
from retrofit.proving.runs.steps import Step, StepKind, steps_of
from tests.proving.plans import small_plan
from tests.proving.runs.players import SHORT, Timed, expected, keys, played, press, slow

SECOND = 1_000_000
BEGUN = "a little more is asked for"


def course(further: Sequence[Sequence[str]] | None, kinds: Iterable[StepKind] = (StepKind.RUN,)) -> ProvingRun:
    """Return a run over the great; `further` are the points asked for after it, round by round, or a diagnosis asks."""
    points = {point.id: point for point in expected().contacts}
    rounds = iter(further or ())

    def given(_: Notebook) -> list[Step]:
        names = next(rounds, ())
        return [Step(StepKind.CAUSE, "great", tuple(points[name] for name in names))] if names else []

    steps = [step for step in steps_of(expected(), "great") if step.kind in set(kinds)]
    by_diagnosis = following(rig_of(small_plan()), expected(), "great")
    return ProvingRun(expected(), steps, (), SHORT, by_diagnosis if further is None else given)


def test_a_sound_console_is_asked_nothing_more() -> None:
    """The diagnosis has nothing to tell apart, and the run ends where its course does."""
    run = course(None, (StepKind.RUN, StepKind.ASKED))
    said = played(run, slow(keys(), SECOND))
    assert BEGUN not in said.text
    assert run.finished
    assert run.over


def test_what_a_diagnosis_asks_for_is_pressed_and_becomes_evidence() -> None:
    """Two wires that touch were heard once, in the run; they are asked for by name, and the answers are kept."""
    notes = [(44, 45) if note in (44, 45) else (note,) for note in keys()]
    joined = [timed for place, together in enumerate(notes) for timed in press((place + 1) * SECOND, *together)]
    run = course(None)

    def respond(say: Say) -> list[Timed]:
        return press(0, 44, 45) if say.words in ("press great G#2 (44)", "press great A2 (45)") else []

    said = played(run, joined, respond)
    assert BEGUN in said.text
    assert {stroke.asked for stroke in run.notebook.evidence("great").asked} >= {"great.44", "great.45"}
    assert run.over


def test_a_point_that_failed_does_not_pass_by_being_right_once_more() -> None:
    """Its failure stands; a point that passed and now fails has failed."""
    run = course([("great.40", "great.41")])
    together = [*slow(keys(40), SECOND), *press(12 * SECOND, 40, 44)]

    def respond(say: Say) -> list[Timed]:
        return press(0, 40) if say.words == "press great E2 (40)" else []

    played(run, together, respond)
    verdicts = {point.point: point.verdict for point in result_of(run, "great").points}
    assert verdicts["great.40"] is Verdict.FAILED
    assert verdicts["great.41"] is Verdict.FAILED
    assert verdicts["great.43"] is Verdict.PASSED


def test_the_course_is_finished_before_anything_more_is_asked() -> None:
    """A recording that holds no such press, or a person who leaves, has left nothing undone."""
    run = course([("great.40",)])
    for time_us, message in slow(keys(), SECOND):
        run.take(Entry(EntryKind.MIDI if run.step else EntryKind.BEGIN, time_us, message if run.step else b""))
    run.take(Entry(EntryKind.TICK, 60 * SECOND))
    assert (run.finished, run.over) == (True, False)
    assert result_of(run, "great").not_done == ()


def test_what_is_skipped_then_is_dropped() -> None:
    """It does not come back: the next round is asked for, and then the run is over."""
    run = course([("great.40",), ("great.41",)])
    said = played(run, slow(keys(), SECOND), answers={"press great E2 (40)": "skip"})
    assert "back to what was left" not in said.text
    assert "press great F2 (41)" in said.text
    assert run.over
    assert result_of(run, "great").not_done == ()


def test_the_asking_has_an_end() -> None:
    """Whatever a diagnosis wants, after so many rounds the run is over."""
    run = course([("great.40",)] * (ROUNDS_MOST + 3))

    def respond(say: Say) -> list[Timed]:
        return press(0, 40) if say.words.startswith("press ") else []

    said = played(run, slow(keys(), SECOND), respond)
    assert said.text.count("press great E2 (40)") == ROUNDS_MOST
    assert said.text.count(BEGUN) == 1
    assert run.over
