"""Every rule is made to speak, keeps silent on a sound job, and obeys waivers."""

from __future__ import annotations

import re

import pytest

from retrofit.plan.model import Severity
from retrofit.plan.rules import ALL_RULES, rule_named
from tests.plan.jobs import DIVIDER, FIRING, GREAT, HEAD, ORGANS, OURS, PRESERVED, SOUND, keys, plan_of


def test_every_rule_has_a_job_that_makes_it_speak() -> None:
    """A rule without a bad case is a rule that nobody has seen fire."""
    assert {rule.id for rule in ALL_RULES} == set(FIRING)


@pytest.mark.parametrize("rule_id", sorted(FIRING))
def test_a_rule_speaks_of_its_own_case(rule_id: str) -> None:
    """The rule's job gives a finding of that rule, with its severity, a subject, and all three parts of a message."""
    said = [finding for finding in plan_of(FIRING[rule_id]).findings if finding.rule == rule_id]
    assert said, f"{rule_id} kept silent"
    rule = rule_named(rule_id)
    assert rule is not None
    for finding in said:
        assert finding.severity is rule.severity
        assert finding.subject
        assert finding.found
        assert finding.allowed
        assert finding.remedy


def test_a_sound_job_is_not_accused() -> None:
    """A job whose every reading is there gives no finding at all."""
    assert plan_of(SOUND).findings == ()


def test_rule_ids_are_unique_words() -> None:
    """Ids are lower-case words joined by hyphens and stand for one rule each."""
    ids = [rule.id for rule in ALL_RULES]
    assert len(ids) == len(set(ids))
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", rule_id) for rule_id in ids)


WAIVER = '[[waivers]]\nrule = "{rule}"\nreason = "agreed with the owner"\n'


def test_a_waiver_with_a_reason_settles_a_finding() -> None:
    """A waived finding stays in the list with its reason and is no longer an error."""
    text = FIRING["message-sent-twice"]
    assert plan_of(text).errors
    plan = plan_of(text + WAIVER.format(rule="message-sent-twice"))
    assert plan.errors == ()
    assert [finding.waived for finding in plan.findings if finding.rule == "message-sent-twice"] == [
        "agreed with the owner"
    ]


@pytest.mark.parametrize("rule_id", sorted(rule.id for rule in ALL_RULES if rule.locked))
def test_a_rule_that_protects_cannot_be_waived(rule_id: str) -> None:
    """A waiver of a locked rule changes nothing but adds an error of its own."""
    plan = plan_of(FIRING[rule_id] + WAIVER.format(rule=rule_id))
    assert any(finding.rule == rule_id and finding.waived is None for finding in plan.findings)
    assert any(finding.rule == "waiver-not-allowed" for finding in plan.errors)


def test_rules_that_guard_the_original_are_locked() -> None:
    """Feeding an organ's line, cutting its bus, joining it to earth and sensing its audio cannot be waived."""
    guards = ("pull-up-on-organ-line", "bus-would-be-cut", "usb-without-barrier", "audio-contact-sensed")
    assert all(rule is not None and rule.locked for rule in map(rule_named, guards))


def test_a_useless_waiver_is_a_note() -> None:
    """A waiver for something that is not found informs, and stops nothing."""
    findings = plan_of(SOUND + WAIVER.format(rule="percussion-channel")).findings
    assert [(finding.rule, finding.severity) for finding in findings] == [("waiver-not-needed", Severity.NOTE)]


def test_a_waiver_of_a_misspelt_rule_names_the_nearest() -> None:
    """A waiver that names no rule is an error that proposes the nearest id."""
    findings = plan_of(SOUND + WAIVER.format(rule="percusion-channel")).findings
    assert [finding.rule for finding in findings] == ["waiver-names-no-rule"]
    assert "'percussion-channel'" in findings[0].found


@pytest.mark.parametrize("interface", ["pins", "matrix", "multiplexer", "expander"])
def test_what_the_board_itself_pulls_or_drives_never_meets_an_organ_line(interface: str) -> None:
    """A matrix drives rows and all the others have pull-ups, so none may read a line that the organ owns."""
    text = PRESERVED + GREAT + keys() + ORGANS + DIVIDER + f'interface = "{interface}"\n'
    assert "pull-up-on-organ-line" in {finding.rule for finding in plan_of(text).errors}


@pytest.mark.parametrize("interface", ["pins", "multiplexer", "expander"])
def test_what_is_pulled_up_takes_no_pull_down(interface: str) -> None:
    """The finding names the input that was asked for."""
    text = HEAD + GREAT + keys() + OURS + f'[groups.wanted]\ninterface = "{interface}"\nsense = "pull-down"\n'
    (found,) = (finding.found for finding in plan_of(text).errors if finding.rule == "pins-are-pulled-up")
    assert interface.removesuffix("s") in found


def test_an_optocoupler_before_direct_pins_leaves_the_organ_line_alone() -> None:
    """An optocoupler's output is ours, whatever the pin does to it."""
    text = PRESERVED + GREAT + keys() + ORGANS + '[groups.wanted]\nsense = "optocoupler"\ninterface = "pins"\n'
    assert "pull-up-on-organ-line" not in {finding.rule for finding in plan_of(text).findings}
