"""The run as a whole: conditions, words, steps left and taken up again, gaps, and that it is its entries alone."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from retrofit.proving.ports.replay import Replay
from retrofit.proving.records.course import Made, course_text, limits_of, made_of, replayed
from retrofit.proving.runs.clock import HeardClock
from retrofit.proving.runs.conditions import QUESTIONS, Condition, conditions_of
from retrofit.proving.runs.entries import Entry, EntryKind
from retrofit.proving.runs.limits import Limits
from retrofit.proving.runs.results import Verdict, result_of
from retrofit.proving.runs.run import ProvingRun
from retrofit.proving.runs.runner import Runner
from retrofit.proving.runs.steps import ChordTest, StepKind, steps_of
from retrofit.proving.runs.words import Word, understood
from tests.proving.runs.players import (
    SHORT,
    Console,
    Kept,
    Listener,
    expected,
    keys,
    made_run,
    off,
    on,
    played,
    press,
    slow,
)

SECOND = 1_000_000
CHORDS = {"great": (ChordTest(("great.36", "great.40")),)}


def test_steps_stand_in_the_order_of_the_work() -> None:
    """Idle first, soak last; a division has only the steps that its points give reason for."""
    great = [step.kind for step in steps_of(expected(), "great", CHORDS)]
    assert great == [StepKind.IDLE, StepKind.RUN, StepKind.ASKED, StepKind.FAST, StepKind.CHORDS, StepKind.SOAK]
    console = [step.kind for step in steps_of(expected(), "console")]
    assert console == [
        StepKind.IDLE,
        StepKind.STOPS,
        StepKind.ALL_STOPS,
        StepKind.COMBINATION,
        StepKind.SHOES,
        StepKind.PISTONS,
        StepKind.ASKED,
        StepKind.SOAK,
    ]


def test_no_step_is_called_like_another() -> None:
    """Titles identify the steps of a run that is gone on with."""
    for division in ("great", "swell", "console"):
        titles = [step.title for step in steps_of(expected(), division, CHORDS)]
        assert len(set(titles)) == len(titles)


def test_nothing_begins_before_every_condition_is_answered() -> None:
    """A no is answered with what to do, and the question stands; keys played meanwhile are not judged."""
    run = made_run("great", (StepKind.RUN,), conditions_of(make_safe_complete=False))
    says = run.take(Entry(EntryKind.BEGIN, 0))
    assert says[0].words.startswith(QUESTIONS[Condition.AMPLIFIER].words)
    assert QUESTIONS[Condition.AMPLIFIER].remedy in run.take(Entry(EntryKind.WORDS, 1, b"no"))[0].words
    run.take(Entry(EntryKind.MIDI, 2, on(36)))
    for time_us in range(3, 8):
        assert run.step is None
        run.take(Entry(EntryKind.WORDS, time_us, b"y"))
    assert run.step is not None
    assert run.answered == list(Condition)


def test_make_safe_is_asked_for_only_while_its_record_is_incomplete() -> None:
    """Hands go in only with a complete record."""
    assert Condition.HANDS_OUT in conditions_of(make_safe_complete=False)
    assert Condition.HANDS_OUT not in conditions_of(make_safe_complete=True)


def test_words_may_be_shortened_and_unknown_ones_are_answered() -> None:
    """First letters do; nonsense gets the nearest word or all of them."""
    assert understood(" Sk ") is Word.SKIP
    assert understood("") is understood("x") is None
    run = made_run("great", (StepKind.RUN,))
    run.take(Entry(EntryKind.BEGIN, 0))
    assert "did you mean 'skip'?" in run.take(Entry(EntryKind.WORDS, 1, b"skipp"))[0].words
    assert "allowed are" in run.take(Entry(EntryKind.WORDS, 2, b"\x1b[2J\xff"))[0].words


def test_a_step_that_was_skipped_comes_back_at_the_end() -> None:
    """Skipped once it comes back; skipped twice it is not done, and the run is not complete."""
    run = made_run("great", (StepKind.RUN, StepKind.SOAK))
    said = played(run, answers={"slow run: play": "skip"})
    assert said.text.count("great: slow run: left for later") == 2
    assert result_of(run, "great").not_done == ("great: slow run",)
    assert not result_of(run, "great").complete


def test_back_goes_to_the_first_step_that_was_left() -> None:
    """The step under way is taken up again afterwards."""
    run = made_run("great", (StepKind.RUN, StepKind.SOAK))
    run.take(Entry(EntryKind.BEGIN, 0))
    run.take(Entry(EntryKind.WORDS, 1, b"skip"))
    assert [step.kind for step in run.unfinished] == [StepKind.SOAK, StepKind.RUN]
    run.take(Entry(EntryKind.WORDS, 2, b"back"))
    assert [step.kind for step in run.unfinished] == [StepKind.RUN, StepKind.SOAK]
    assert "no step was left" in run.take(Entry(EntryKind.WORDS, 3, b"back"))[0].words


def test_again_forgets_what_the_step_had_noted() -> None:
    """A run begun anew has no evidence of the first attempt."""
    run = made_run("great", (StepKind.RUN,))
    played(run, [*press(SECOND, 36, 37), *slow(keys(), 5 * SECOND)], answers={"came together": "again"})
    evidence = run.notebook.evidence("great").run
    assert all(len(stroke.heard) == 1 for stroke in evidence)
    assert result_of(run, "great").complete


def test_done_ends_a_step() -> None:
    """What was not heard then is asked for next."""
    run = made_run("great", (StepKind.RUN, StepKind.ASKED))
    run.take(Entry(EntryKind.BEGIN, 0))
    says = run.take(Entry(EntryKind.WORDS, 1, b"done"))
    assert says[0].words == "nothing of great was heard yet"
    assert run.step is not None
    assert run.step.kind is StepKind.ASKED


def _outcome(run: ProvingRun) -> object:
    return result_of(run, "great"), run.notebook.evidence("great"), run.step, run.now_us, run.engine.messages


def test_a_run_stopped_anywhere_goes_on_as_if_it_had_never_stopped() -> None:
    """From the kept entries the very same state is made again, at every place of the run."""
    kept, whole = Kept(), made_run("great")
    played(whole, slow(keys(43), 10 * SECOND), kept=kept)
    assert whole.finished
    assert _outcome(replayed(made_run("great"), kept.entries)) == _outcome(whole)
    for place in range(0, len(kept.entries), 7):
        early = replayed(made_run("great"), kept.entries[:place])
        assert _outcome(replayed(early, kept.entries[place:])) == _outcome(whole)


def test_a_stopped_run_is_resumed_and_finishes() -> None:
    """Quit in the middle, then on with the rest: every key passes, none is played twice."""
    kept, first = Kept(), made_run("great", (StepKind.RUN, StepKind.ASKED))
    played(first, slow(keys(), SECOND), answers={"great E2 (40): passed": "quit"}, kept=kept)
    assert first.stopped
    second = replayed(made_run("great", (StepKind.RUN, StepKind.ASKED)), kept.entries)
    rest = keys(36, 37, 40)
    said = played(second, slow(rest, SECOND), kept=kept)
    assert second.finished
    assert "great C2 (36)" not in said.text
    assert {p.verdict for p in result_of(second, "great").points} == {Verdict.PASSED, Verdict.EXCUSED}
    third = replayed(made_run("great", (StepKind.RUN, StepKind.ASKED)), kept.entries)
    assert _outcome(third) == _outcome(second)


def test_the_course_of_a_run_reads_back() -> None:
    """Steps, conditions and limits make a text, and the text makes them again."""
    steps, limits = steps_of(expected(), "console"), Limits(soak_us=7)
    made = Made(steps[2:], tuple(Condition), limits, follows=True)
    text = course_text(made)
    assert made_of(text, steps) == made
    assert limits_of(text) == limits


def test_a_device_that_goes_away_costs_nothing_and_is_told() -> None:
    """Waiting for a key that is asked for begins anew when the device is back; no key fails meanwhile."""
    run = made_run("great", (StepKind.ASKED,))
    clock = HeardClock()
    console = Console(clock, respond=lambda say: press(0, say.note) if say.note else [])
    console.away_between = (4 * SECOND, 500 * SECOND)
    listener = Listener(console)
    Runner(run, console, clock, listener).go()
    assert "a console made by hand is away; waiting for it" in listener.text
    assert "a console made by hand is back" in listener.text
    assert run.finished
    assert not result_of(run, "great").failed


def test_a_recording_that_ends_asks_nobody_for_what_it_lacks() -> None:
    """The run over the keys ends by its pause; the missing one stays untried, not failed."""
    run = made_run("great", (StepKind.RUN, StepKind.ASKED))
    with Replay("recording", slow(keys(43), SECOND), fast=True) as recording:
        Runner(run, recording, HeardClock(), Listener()).go()
    verdicts = {p.point: p.verdict for p in result_of(run, "great").points}
    assert verdicts["great.43"] is Verdict.NOT_TRIED
    assert verdicts["great.44"] is Verdict.PASSED
    assert not result_of(run, "great").failed
    assert not result_of(run, "great").complete


def test_a_recording_read_at_once_goes_as_it_did_live() -> None:
    """Pauses of a recording are pauses of the run: what is asked for and what is judged falls at the same times."""
    kinds = (StepKind.RUN, StepKind.ASKED, StepKind.FAST, StepKind.SOAK)
    hurry = [timed for place, note in enumerate(keys()) for timed in press(80 * SECOND + place * 250_000, note)]
    messages = [*slow(keys(43), SECOND), *hurry]
    slowly, at_once = made_run("great", kinds), made_run("great", kinds)
    played(slowly, messages)
    with Replay("recording", messages, fast=True) as recording:
        Runner(at_once, recording, HeardClock(), Listener()).go()
    for run in (slowly, at_once):
        assert [stroke.asked for stroke in run.notebook.evidence("great").asked] == ["great.43"]
        assert "great.43" in [p.point for p in result_of(run, "great").points if p.verdict is Verdict.FAILED]
    assert slowly.notebook.evidence("great") == at_once.notebook.evidence("great")


def test_a_gap_accuses_nobody() -> None:
    """A key asked for the last time just before the device went is asked for again after it, however long it was."""
    run = made_run("great", (StepKind.ASKED,))
    run.take(Entry(EntryKind.BEGIN, 0))
    run.take(Entry(EntryKind.TICK, 10 * SECOND))
    says = run.take(Entry(EntryKind.GAP, 900 * SECOND))
    assert [say.words for say in says] == ["press great C2 (36)"]
    assert not result_of(run, "great").failed


def test_a_press_that_began_before_the_asking_is_no_answer() -> None:
    """A key still held from before is not taken for a wrong answer."""
    run = made_run("great", (StepKind.RUN, StepKind.ASKED))
    for entry in (
        Entry(EntryKind.BEGIN, 0),
        Entry(EntryKind.MIDI, SECOND, on(44)),
        Entry(EntryKind.WORDS, SECOND + 100_000, b"done"),
        Entry(EntryKind.MIDI, SECOND + 200_000, off(44)),
    ):
        run.take(entry)
    assert run.take(Entry(EntryKind.TICK, 2 * SECOND)) == []
    assert run.notebook.evidence("great").asked == ()


def test_again_forgets_how_the_points_did() -> None:
    """A key that passed before the step was begun anew is not tried until it passes again."""
    run = made_run("great", (StepKind.RUN,))
    run.take(Entry(EntryKind.BEGIN, 0))
    for time_us, message in press(SECOND, 36):
        run.take(Entry(EntryKind.MIDI, time_us, message))
    run.take(Entry(EntryKind.WORDS, 2 * SECOND, b"again"))
    run.take(Entry(EntryKind.WORDS, 3 * SECOND, b"done"))
    assert result_of(run, "great").points[0].verdict is Verdict.NOT_TRIED


def test_times_of_messages_are_kept_to_the_microsecond() -> None:
    """Time passes behind the clock, so a bounce of 3,217 µs is not rounded to the loop's rhythm."""
    run = made_run("great", (StepKind.RUN,))
    start, clock = 5 * SECOND + 1, HeardClock()
    bounce = ((0, True), (50_000, False), (53_217, True), (90_000, False))
    messages = [(start + at_us, on(36) if is_on else off(36)) for at_us, is_on in bounce]
    Runner(run, Console(clock, messages, ends=True, late_us=40_000), clock, Listener()).go()
    assert run.engine.contacts[0].longest_bounce_us == 3_217


_MESSAGES = st.one_of(
    st.sampled_from(
        [bytes((status, note, value)) for status in (0x91, 0x81, 0x92) for note in range(35, 49) for value in (0, 64)]
    ),
    st.sampled_from([b"\xf8", b"\xb0\x0b\x40", b"\xc0\x05", b"\xb0\x14\x7f", b"\xb0\x14\x00", b"\xf0\x7d\x01\xf7"]),
)
_ENTRIES = st.lists(
    st.one_of(
        st.tuples(st.just(EntryKind.MIDI), st.integers(0, 3 * SECOND), _MESSAGES),
        st.tuples(
            st.just(EntryKind.WORDS),
            st.integers(0, SECOND),
            st.sampled_from([b"skip", b"back", b"again", b"done", b"yes", b"no", b"?"]),
        ),
        st.tuples(st.just(EntryKind.TICK), st.integers(0, 40 * SECOND), st.just(b"")),
        st.tuples(st.just(EntryKind.GAP), st.integers(0, SECOND), st.just(b"")),
    ),
    max_size=60,
)


@settings(max_examples=60, deadline=None)
@given(entries=_ENTRIES, division=st.sampled_from(["great", "console"]))
def test_whatever_comes_the_counts_hold_and_the_run_ends(
    entries: list[tuple[EntryKind, int, bytes]], division: str
) -> None:
    """Any messages, words and gaps: every message is counted, and by time alone the run comes to its end."""
    run = made_run(division, conditions=(Condition.AMPLIFIER,), chords=CHORDS["great"] if division == "great" else ())
    now_us, midi = 0, 0
    run.take(Entry(EntryKind.BEGIN, 0))
    for kind, later_us, content in entries:
        now_us += later_us
        midi += kind is EntryKind.MIDI and not run.over
        run.take(Entry(kind, now_us, content))
    assert run.engine.messages == midi
    run.take(Entry(EntryKind.WORDS, now_us, b"yes"))
    for _ in range(400):
        now_us += SHORT.remind_us
        run.take(Entry(EntryKind.TICK, now_us))
    assert run.finished


@settings(max_examples=40, deadline=None)
@given(order=st.permutations(keys()))
def test_a_healthy_player_in_any_order_is_never_accused(order: list[int]) -> None:
    """Whatever the order, all keys pass."""
    run = made_run("great", (StepKind.RUN, StepKind.ASKED))
    played(
        run, slow(order, SECOND), lambda say: press(0, say.note) if say.words.startswith("press ") and say.note else []
    )
    assert result_of(run, "great").complete
    assert not result_of(run, "great").failed
