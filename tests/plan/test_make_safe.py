"""The make-safe gate: what must be recorded of a powered instrument before papers lead anybody's hands into it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from retrofit.firmware.sketch import sketch_files
from retrofit.plan.gate import papers_allowed
from retrofit.plan.model import ConversionPlan, Finding, Severity
from retrofit.plan.rules import ALL_RULES
from tests.plan.jobs import DIVIDER, GREAT, ORGANS, PRESERVED, SOUND, STEPS, keys, make_safe, plan_of


def _plan(record: str) -> ConversionPlan:
    return plan_of(PRESERVED + record + GREAT + keys() + ORGANS + DIVIDER)


def _said(record: str) -> list[tuple[str, str]]:
    return [(f.subject, f.found) for f in _plan(record).findings if f.rule == "make-safe-not-done"]


def test_a_complete_record_lets_the_papers_through() -> None:
    """Earth read, supply isolated and every step signed: nothing is said."""
    assert _said(make_safe()) == []
    assert papers_allowed(_plan(make_safe())) == (True, ())


def test_a_job_without_organ_lines_needs_no_record() -> None:
    """A gutted console, whose every line is ours, is not a powered instrument."""
    assert papers_allowed(plan_of(SOUND)) == (True, ())


def test_without_a_record_every_part_is_missed() -> None:
    """Earth, kind of supply and steps are each asked for, and the papers are withheld for these reasons."""
    assert [subject for subject, _ in _said("")] == [
        "make_safe.chassis_to_earth",
        "make_safe.supply_kind",
        "make_safe.ticks",
    ]
    allowed, reasons = papers_allowed(_plan(""))
    assert not allowed
    assert len(reasons) == 3
    assert all("licensed person" in reason for reason in reasons)


@pytest.mark.parametrize("step", STEPS)
def test_each_step_is_wanted(step: str) -> None:
    """A record that lacks one step names that step and no other."""
    others = tuple(other for other in STEPS if other != step)
    assert _said(make_safe(steps=others)) == [("make_safe.ticks", f"nobody has signed {step}")]


@pytest.mark.parametrize(
    ("earth", "reading", "settled"),
    [
        ("joined", "0,3", True),
        ("joined", "1", True),
        ("joined", "1,1", False),
        ("joined", "OL", False),
        ("joined", "unknown", False),
        ("apart", "OL", True),
        ("apart", "1k", True),
        ("apart", "999", False),
        ("apart", "wanders", False),
        ("apart", "unknown", False),
        ("unknown", "0,3", False),
    ],
)
def test_the_earth_reading_must_bear_out_the_statement(earth: str, reading: str, settled: bool) -> None:
    """Joined up to 1 Ω, apart from 1 kΩ (common practice, no source); anything else is not settled."""
    said = _said(make_safe(earth=earth, reading=reading))
    assert [subject for subject, _ in said] == ([] if settled else ["make_safe.chassis_to_earth"])


@pytest.mark.parametrize("kind", ["unknown", "not-isolated"])
def test_a_supply_that_may_be_joined_to_the_mains_holds_the_papers(kind: str) -> None:
    """Nothing is connected to a supply that is not isolated, or not known to be."""
    assert [subject for subject, _ in _said(make_safe(supply=kind))] == ["make_safe.supply_kind"]


def test_the_sketch_is_not_held() -> None:
    """The rule withholds papers; the sketch of the same plan is still written."""
    plan = _plan("")
    assert plan.errors == ()
    assert sketch_files(plan, "console")


def test_only_this_rule_holds_papers_alone() -> None:
    """Every other error stops the whole build."""
    assert [rule.id for rule in ALL_RULES if rule.papers_only] == ["make-safe-not-done"]


def test_a_finding_that_is_no_error_withholds_nothing() -> None:
    """Only a standing error closes the gate."""
    plan = _plan(make_safe())
    finding = Finding("some-rule", Severity.ERROR, "here", "found", "allowed", "remedy", papers_only=True)
    assert not papers_allowed(replace(plan, findings=(finding,)))[0]
    assert papers_allowed(replace(plan, findings=(replace(finding, severity=Severity.NOTE),)))[0]
    assert papers_allowed(replace(plan, findings=(replace(finding, waived="agreed"),)))[0]
