"""Where the organ's lines are touched: questions, answers, and what the MIDI will do otherwise."""

from __future__ import annotations

from math import log

import pytest

from retrofit.plan.model import Severity
from retrofit.survey.base import Ternary
from tests.plan.jobs import DIVIDER, GREAT, HEAD, ORGANS, keys, plan_of

DECAYING = ORGANS.replace('"0,0 V"', '"0,0 V", source = "100k"').replace('"12,4 V"', '"12,0 V", source = "1k"')


def _job(wiring: str = "", dead: str = "") -> str:
    return HEAD + GREAT + keys() + DECAYING + wiring + f"[groups.wiring.dead]\n{dead}\n" + DIVIDER


def test_open_questions_are_asked_and_promise_nothing() -> None:
    """Three questions about the tap are open until answered; no effect on the MIDI is stated for an open one."""
    plan = plan_of(_job())
    assert [question.answer for question in plan.sensing[0].tap] == [Ternary.UNKNOWN] * 3
    assert plan.sensing[0].midi_otherwise == ()
    asked = [finding for finding in plan.findings if finding.rule == "tap-not-asked"]
    assert [finding.severity for finding in asked] == [Severity.NOTE] * 3


def test_answers_that_are_wanted_leave_nothing_to_say() -> None:
    """Before the coupler, before the capacitor and on a bus that is always fed, the MIDI follows the keys."""
    plan = plan_of(_job('decay_capacitor = "no"\n', 'coupler_before_tap = "no"\nswitched_by_stop = "no"'))
    assert all(question.settled for question in plan.sensing[0].tap)
    assert plan.sensing[0].midi_otherwise == ()
    assert not [finding for finding in plan.findings if finding.rule.startswith(("tap-", "late-"))]


@pytest.mark.parametrize(
    ("wiring", "dead", "rule", "words"),
    [
        ("", 'coupler_before_tap = "yes"', "tap-after-coupler", "notes are doubled"),
        ("", 'switched_by_stop = "yes"', "tap-on-switched-bus", "send nothing while that stop is off"),
        ('decay_capacitor = "yes"\n', "", "late-note-off", "late"),
    ],
)
def test_a_tap_in_the_wrong_place_says_what_the_midi_will_do(wiring: str, dead: str, rule: str, words: str) -> None:
    """Doubled notes after a coupler, silence on a switched bus, a late note-off behind a capacitor."""
    plan = plan_of(_job(wiring, dead))
    assert [words in said for said in plan.sensing[0].midi_otherwise] == [True]
    assert [words in finding.found for finding in plan.findings if finding.rule == rule] == [True]


def test_a_note_off_behind_a_capacitor_is_late_by_its_decay() -> None:
    """The delay is that of an RC discharge (τ·ln(V0/Vth)) within what the readings leave open, and is in the latency.

    A fall to a tenth in 1.08 s is a time constant of 1.08/ln 10 s; the divider's input is sure to read low somewhere
    between the level at which half the released line has gone and a twentieth of it.
    """
    plan = plan_of(_job('decay_capacitor = "yes"\n', 'fall_time = "1,08 s"\nline_to_return = "100k"'))
    chosen = plan.sensing[0].chosen
    assert chosen is not None
    tau_us = 1e6 * 1.08 / log(10)
    assert tau_us * log(2) < chosen.release_delay_us < 1.4 * tau_us * log(20)
    assert plan.groups[0].release_latency_us_max > chosen.release_delay_us
    assert f"{chosen.release_delay_us / 1e3:.0f} ms" in plan.sensing[0].midi_otherwise[0]


def test_a_capacitor_whose_fall_was_not_timed_is_late_by_an_unknown_time() -> None:
    """Without the time to fall no figure is given."""
    plan = plan_of(_job('decay_capacitor = "yes"\n'))
    assert "an unknown time (the time to fall was not read)" in plan.sensing[0].midi_otherwise[0]
