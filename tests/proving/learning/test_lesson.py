"""Whole lessons on a console in software, from the first word to the addresses of the job."""

from __future__ import annotations

from random import Random

import pytest

from retrofit.proving.evidence import HeardPoint, Stroke
from retrofit.proving.learning.lesson import RUNS_MOST, Lesson, LessonKey
from retrofit.proving.learning.table import NoLessonError, lesson_keys, places_of_group, rewiring
from retrofit.proving.learning.votes import AskedPress
from retrofit.proving.runs.limits import SECOND_US
from retrofit.rehearsal.standin.manners import CLUMSY, EXACT
from tests.proving.learning.wired_anyhow import gutted_plan, taught_by_playing, wired_anyhow

KEYS = tuple(LessonKey(f"k{number}", f"key {number}", 36 + number) for number in range(4))


def stroke(place: str, at_s: float) -> Stroke:
    """Return a clean press of a tenth of a second."""
    return Stroke((HeardPoint(place, int(at_s * SECOND_US), int((at_s + 0.1) * SECOND_US)),))


@pytest.mark.parametrize("group", ["pedal", "lower", "pistons"])
def test_an_exact_run_over_wires_in_any_order_brings_every_address(group: str) -> None:
    """Register chain, matrix and pins: after one run each contact has the place where its wire really is."""
    plan = gutted_plan()
    anyhow = wired_anyhow(plan, group, Random(group))
    lesson = Lesson([key for key in lesson_keys(plan, group) if not key.silence])
    said = taught_by_playing(plan, lesson, anyhow).heard
    learned = lesson.result
    assert learned.settled
    assert dict(learned.places) == {key.point: anyhow.truth[key.point] for key in lesson.keys}
    assert len(said) == 3, "one run, how much was heard, and nothing to ask"


def test_a_key_that_is_known_to_stay_closed_is_asked_for_and_left_unproven() -> None:
    """The board mutes it, so it is silent: its place is what is left over, and said to be unproven."""
    plan = gutted_plan()
    anyhow = wired_anyhow(plan, "lower", Random(2))
    lesson = Lesson(lesson_keys(plan, "lower"))
    said = taught_by_playing(plan, lesson, anyhow).heard
    assert "press lower E3 (52), known to stay closed" in said
    assert lesson.result.silent == ("lower.52",)
    assert {key: anyhow.truth[key] for key in lesson.result.places} == dict(lesson.result.places)


@pytest.mark.parametrize("seed", range(4))
def test_a_clumsy_player_is_asked_until_all_is_certain(seed: int) -> None:
    """Keys missed, doubled, brushed and gone back to cost single presses, and no address is wrong."""
    plan = gutted_plan()
    anyhow = wired_anyhow(plan, "upper", Random(seed))
    lesson = Lesson(lesson_keys(plan, "upper"))
    taught_by_playing(plan, lesson, anyhow, CLUMSY, seed)
    learned = lesson.result
    assert learned.settled
    assert {key: anyhow.truth[key] for key in learned.places} == dict(learned.places)
    assert learned.silent == ("upper.61",), "the job knows it as dead"
    found = rewiring(plan, "upper", learned)
    assert found.unproven == ("upper.61",)
    assert len(set(found.addresses.values())) == len(found.addresses)
    assert set(found.addresses.values()) <= set(places_of_group(plan, "upper"))


def test_a_run_back_down_is_asked_for_as_a_proof() -> None:
    """With both ways wanted, the run is played down again, and an exact player is asked nothing more."""
    plan = gutted_plan()
    anyhow = wired_anyhow(plan, "pedal", Random(5))
    lesson = Lesson(lesson_keys(plan, "pedal"), both_ways=True)
    said = taught_by_playing(plan, lesson, anyhow, EXACT).heard
    assert "now back down, from pedal C4 (60) to pedal C2 (36)" in said
    assert dict(lesson.result.places) == anyhow.truth


def test_silence_is_waited_for_and_said() -> None:
    """While nothing is heard the lesson says so again and again, and settles nothing."""
    lesson = Lesson(KEYS)
    lesson.begin(0)
    assert [say.words for say in lesson.take([], 31 * SECOND_US)] == ["nothing heard yet"]
    assert lesson.take([], 32 * SECOND_US) == []
    assert not lesson.over


def test_a_key_that_was_left_out_is_asked_for_by_halving() -> None:
    """Three places for four keys: presses by name tell which key the run left out."""
    lesson = Lesson(KEYS)
    lesson.begin(0)
    lesson.take([stroke(place, second) for second, place in enumerate("abd")], 3 * SECOND_US)
    (heard, asked) = lesson.take([], 12 * SECOND_US)
    assert (heard.words, asked.words) == ("3 places heard in the run", "press key 2")
    (asked,) = lesson.take([stroke("c", 13)], 14 * SECOND_US)
    assert asked.words == "nothing is left to ask"
    assert dict(lesson.result.places) == {"k0": "a", "k1": "b", "k2": "c", "k3": "d"}


def test_presses_from_before_a_question_do_not_answer_it() -> None:
    """A press that began before the asking is left aside."""
    lesson = Lesson(KEYS)
    lesson.begin(0)
    lesson.take([stroke(place, second) for second, place in enumerate("abd")], 3 * SECOND_US)
    lesson.take([], 12 * SECOND_US)
    assert lesson.take([stroke("c", 11)], 13 * SECOND_US) == []
    assert lesson.asked == []


def test_words_steer_a_lesson() -> None:
    """`done` ends the run, `again` begins it anew, `quit` stops, and an unknown word is answered."""
    lesson = Lesson(KEYS)
    lesson.begin(0)
    lesson.take([stroke("a", 1)], 2 * SECOND_US)
    assert "is no word of a run" in lesson.said("fiddle", 2 * SECOND_US)[0].words
    assert lesson.said("again", 2 * SECOND_US)[0].words.startswith("press each of 4")
    assert lesson.said("skip", 2 * SECOND_US)[0].words == "nothing was asked that this would answer"
    assert lesson.said("done", 3 * SECOND_US)[0].words == "0 places heard in the run"
    lesson.said("quit", 4 * SECOND_US)
    assert (lesson.over, lesson.stopped) == (True, True)


def test_a_run_that_single_presses_deny_is_played_anew_and_at_last_left_aside() -> None:
    """Who plays backwards against what he pressed by name is asked for the run again, and then for every key."""
    lesson = Lesson(KEYS)
    lesson.begin(0)
    lesson.asked += [AskedPress(key, frozenset(place)) for key, place in (("k0", "a"), ("k3", "d"))] * 3
    now_s, said = 0, []
    for _ in range(RUNS_MOST):
        lesson.take([stroke(place, now_s + second) for second, place in enumerate("dcba", 1)], (now_s + 6) * SECOND_US)
        said = [say.words for say in lesson.said("done", (now_s + 7) * SECOND_US)]
        now_s += 10
    assert said[1] == "single presses deny this run as well: every key is asked for by name"
    for place in "bc":
        lesson.take([stroke(place, now_s + 1)], (now_s + 2) * SECOND_US)
        now_s += 2
    assert lesson.over
    assert dict(lesson.result.places) == {"k0": "a", "k1": "b", "k2": "c", "k3": "d"}


def test_groups_that_playing_cannot_tell_apart_are_refused() -> None:
    """Several contacts under a key speak together, and a single contact has no order."""
    plan = gutted_plan()
    with pytest.raises(NoLessonError, match="0 contacts with an address"):
        lesson_keys(plan, "shoe")
