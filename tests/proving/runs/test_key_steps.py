"""Runs over keys: what passes, what fails, what is asked for, and what is never accused."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from retrofit.proving.evidence import HeardPoint, Stroke
from retrofit.proving.runs.notebook import STROKES_KEPT, Notebook
from retrofit.proving.runs.order import out_of_order
from retrofit.proving.runs.presses import ORDER_ASKS, wrong_in
from retrofit.proving.runs.results import Verdict, result_of
from retrofit.proving.runs.run import ProvingRun
from retrofit.proving.runs.says import Say, Sound
from retrofit.proving.runs.steps import StepKind
from tests.proving.runs.players import Timed, expected, keys, made_run, off, on, played, press, slow

KEYS = (StepKind.RUN, StepKind.ASKED)
SECOND = 1_000_000


def verdicts(run: ProvingRun, division: str = "great") -> dict[str, Verdict]:
    """Return the verdict of each point."""
    return {point.point: point.verdict for point in result_of(run, division).points}


def pressing(say: Say) -> list[Timed]:
    """Press whatever is asked for by name."""
    return press(0, say.note) if say.words.startswith("press ") and say.note is not None else []


def test_a_healthy_run_in_any_order_passes_every_key() -> None:
    """Keys in a wild order all pass, each with a high tone; some are asked for by name, and pass again."""
    run = made_run("great", KEYS)
    wild = sorted(keys(), key=lambda note: note * 7 % 13)
    said = played(run, slow(wild, 1_000_000), pressing)
    assert run.finished
    asked = said.text.count("press great")
    assert 0 < asked <= ORDER_ASKS
    assert said.sounds().count(Sound.PASS) == len(keys()) + asked
    assert Sound.FAIL not in said.sounds()
    assert set(verdicts(run).values()) == {Verdict.PASSED, Verdict.EXCUSED}
    assert not result_of(run, "great").failed


def test_crossed_wires_do_not_pass_for_another_order() -> None:
    """Two wires crossed sound like two keys played the other way round; asked for by name, both fail."""
    wires = {44: 45, 45: 44}

    def crossed(message: bytes) -> bytes:
        return bytes((message[0], wires.get(message[1], message[1]), message[2]))

    run = made_run("great", KEYS)
    heard = [wires.get(note, note) for note in keys()]
    played(run, slow(heard, SECOND), lambda say: [(at_us, crossed(message)) for at_us, message in pressing(say)])
    failed = {point.point: point.remark for point in result_of(run, "great").points if point.verdict is Verdict.FAILED}
    assert failed == {"great.44": "great A2 (45) came instead", "great.45": "great G#2 (44) came instead"}


def test_points_out_of_order_beyond_those_asked_for_are_said_to_be_unconfirmed() -> None:
    """A run downwards asks for a few keys; the others pass with a remark that their place was not asked for."""
    run = made_run("great", KEYS)
    played(run, slow(keys()[::-1], SECOND), pressing)
    result = result_of(run, "great")
    assert not result.failed
    assert len(run.notebook.asked["great"]) == ORDER_ASKS
    doubted = [point for point in result.points if "its place was not asked for" in point.remark]
    assert len(doubted) == len(keys()) - 1 - ORDER_ASKS


@given(st.permutations(range(9)))
def test_what_is_in_order_is_as_long_as_can_be(places: list[int]) -> None:
    """What remains rises, and no longer rising part exists: held against a search through all parts."""
    left = set(out_of_order(places))
    rest = [place for place in places if place not in left]
    assert rest == sorted(rest)
    longest = max(
        sum(1 for _ in part)
        for size in range(len(places) + 1)
        for part in combinations(places, size)
        if list(part) == sorted(part)
    )
    assert len(rest) == longest


def test_the_next_expected_key_is_announced() -> None:
    """After each key the next one that was not heard yet is named."""
    said = played(made_run("great", KEYS), slow(keys(), 1_000_000))
    assert "great C2 (36): passed; next great C#2 (37)" in said.text
    assert "great C#2 (37): passed; next great E2 (40)" in said.text, "a dead key and one left out are passed over"


def test_a_missed_key_is_asked_for_and_passes_when_pressed() -> None:
    """A key that the player left out is no fault: it is asked for, and passes."""
    run = made_run("great", KEYS)
    said = played(run, slow(keys(43), 1_000_000), pressing)
    assert "not heard yet: great G2 (43)" in said.text
    assert verdicts(run)["great.43"] is Verdict.PASSED
    assert [stroke.asked for stroke in run.notebook.evidence("great").asked] == ["great.43"]


def test_a_dead_key_fails_only_after_it_was_asked_for_twice_in_vain() -> None:
    """Silence on asking is evidence: an empty press, and a failed key; the others stay passed."""
    run = made_run("great", KEYS)
    said = played(run, slow(keys(43), 1_000_000), lambda _: [])
    assert said.text.count("press great G2 (43)") == 2
    assert run.notebook.evidence("great").asked == (Stroke((), asked="great.43"),)
    failed = [point for point, verdict in verdicts(run).items() if verdict is Verdict.FAILED]
    assert failed == ["great.43"]


def test_two_keys_that_come_together_are_asked_for_and_the_joined_ones_fail() -> None:
    """A joint of two wires shows again when asked for; a brush of the hand does not."""
    joined = [
        timed for note in keys() for timed in press(note * 1_000_000, *((43, 44) if note in (43, 44) else (note,)))
    ]
    always = made_run("great", KEYS)
    played(always, joined, lambda say: press(0, 43, 44) if say.words.startswith("press ") else [])
    assert {p for p, verdict in verdicts(always).items() if verdict is Verdict.FAILED} == {"great.43", "great.44"}

    brushed = made_run("great", KEYS)
    played(brushed, joined, pressing)
    result = {point.point: point for point in result_of(brushed, "great").points}
    assert result["great.43"].verdict is Verdict.PASSED
    assert "at first came together with great G#2 (44)" in result["great.43"].remark


def test_an_excused_key_that_is_silent_is_never_asked_for_nor_accused() -> None:
    """The key known as dead stands as excused, whatever is heard of it."""
    silent, speaking = made_run("great", KEYS), made_run("great", KEYS)
    assert "38" not in played(silent, slow(keys(), 1_000_000)).text
    said = played(speaking, slow([38, *keys()], 1_000_000))
    assert "great D2 (38) speaks, and was known as dead" in said.text
    assert verdicts(silent)["great.38"] is verdicts(speaking)["great.38"] is Verdict.EXCUSED
    assert not result_of(speaking, "great").failed


def test_a_key_of_another_group_and_a_message_of_no_point_are_told() -> None:
    """What is heard and is not of this group gets a low tone; a message of no point is a failure of the run."""
    run = made_run("great", KEYS)
    said = played(run, [*slow(keys(), 1_000_000), *press(1_500_000, 40, channel=3), (1_600_000, b"\x99\x30\x40")])
    assert "swell E2 (40) is not of great" in said.text
    assert "message 99 30 of no point (C3 on channel 10) was heard" in said.text
    assert result_of(run, "great").strays == (("99 30", 1),)
    assert result_of(run, "great").failed


def test_a_key_that_stays_on_fails() -> None:
    """A contact that goes on and not off again does not pass, even when asked for."""
    messages = [timed for timed in slow(keys(), 1_000_000) if timed[1] != off(48)]
    run = made_run("great", KEYS)
    played(run, messages, lambda _: [])
    assert verdicts(run)["great.48"] is Verdict.FAILED


def test_too_much_bounce_fails_and_a_little_passes() -> None:
    """One further on passes; three, the longest after 12 ms, fail, with the figures in the finding."""
    worn = [
        (5_300_000 + at, on(36) if turn % 2 else off(36))
        for turn, at in enumerate((0, 12_000, 13_000, 15_000, 16_000, 18_000, 30_000))
    ]
    little = [(5_300_000, on(37)), (5_302_000, off(37)), (5_303_000, on(37)), (5_400_000, off(37))]
    run = made_run("great", KEYS)
    played(run, [*slow(keys(36, 37), 6_000_000), *little, (5_100_000, on(36)), *worn])
    points = {point.point: point for point in result_of(run, "great").points}
    assert points["great.36"].verdict is Verdict.FAILED
    assert points["great.36"].bounces == 3
    assert points["great.37"].verdict is Verdict.PASSED
    assert points["great.37"].bounces == 1
    assert "went on again 3 times in one stroke, 1 allowed" in result_of(run, "great").findings[0].words


def test_many_bounces_that_are_over_soon_pass() -> None:
    """Three further ons within 6 ms are counted and pass: chatter spreads over more than 8 ms."""
    edges = [(place * 1000, off(36) if place % 2 else on(36)) for place in range(7)]
    run = made_run("great", KEYS)
    played(run, [*((SECOND + at, m) for at, m in [*edges, (80_000, off(36))]), *slow(keys(36), 3 * SECOND)])
    first = result_of(run, "great").points[0]
    assert (first.bounces, first.longest_bounce_us, first.verdict) == (3, 1000, Verdict.PASSED)


def test_contacts_under_one_key_are_no_company() -> None:
    """A key with two contacts closes both: that accuses neither; a third contact of another key does."""
    first = expected().contacts[0]
    second = replace(first, id="great.36.second", words="great second C2 (36)")
    notebook = Notebook(replace(expected(), contacts=(*expected().contacts, second)))
    both = (HeardPoint("great.36", 0, 9), HeardPoint("great.36.second", 1, 9))
    assert wrong_in(Stroke(both), notebook, both[0]) == ""
    three = Stroke((*both, HeardPoint("great.37", 2, 9)))
    assert wrong_in(three, notebook, both[0]) == "came together with great C#2 (37)"


def test_evidence_of_an_endless_run_is_bounded() -> None:
    """Only the newest presses are kept."""
    notebook = Notebook(expected())
    for place in range(STROKES_KEPT + 5):
        notebook.hear("great", Stroke((HeardPoint("great.36", place, place + 1),)))
    assert len(notebook.run["great"]) == STROKES_KEPT
    assert notebook.run["great"][0].heard[0].on_us == 5


def test_a_silent_group_is_asked_for_at_three_places_only() -> None:
    """When nothing at all came, the ends and the middle are asked for, and the whole group is the finding."""
    run = made_run("great", KEYS)
    said = played(run)
    asked = {say.words for say in said.heard if say.words.startswith("press ")}
    assert len(asked) == 3
    result = result_of(run, "great")
    assert [finding.subject for finding in result.findings] == ["great"]
    assert list(verdicts(run).values()).count(Verdict.NOT_TRIED) == len(keys()) - 3
    assert not result.complete


def test_a_fast_run_counts_and_accuses_nobody_who_was_left_out() -> None:
    """Half the keys in a hurry: their strokes count, the others stay as they are."""
    run = made_run("great", (StepKind.FAST,))
    said = played(run, [timed for place, note in enumerate(keys()[:6]) for timed in press(place * 250_000, note)])
    assert "6 presses heard" in said.text
    assert not result_of(run, "great").failed


def test_a_fast_run_that_nobody_plays_comes_back_once_and_is_then_not_done() -> None:
    """Nothing played is no result: it comes back at the end and then counts as not done."""
    run = made_run("great", (StepKind.FAST,))
    said = played(run)
    assert said.text.count("left for later") == 2
    assert result_of(run, "great").not_done == ("great: fast run",)


def test_a_run_of_messages_that_no_point_sends_ends_at_a_pause() -> None:
    """Keys that all speak on another channel are a run, though none is heard: nobody is told to begin once more."""
    run = made_run("great", KEYS)
    said = played(run, [timed for place, note in enumerate(keys()) for timed in press(place * SECOND, note, channel=9)])
    assert "nothing heard yet" not in said.text
    assert "nothing of great was heard yet" in said.text
    assert said.text.count("message 98 28 of no point (E2 on channel 9) was heard") == 1
    assert len(run.notebook.evidence("great").run) == len(keys())
